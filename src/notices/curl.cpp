#include "notices/curl.h"

#include <fmt/format.h>

#include <boost/asio/ip/address.hpp>
#include <mutex>
#include <new>
#include <optional>
#include <string_view>

#include "base/redact.h"

namespace rookery::notices {
namespace {

using base::Error;
using base::ErrorCode;

constexpr std::size_t kMostAnswer = 200;

CurlEasy make_easy() {
  static std::once_flag once;
  std::call_once(once, [] { ::curl_global_init(CURL_GLOBAL_DEFAULT); });
  CurlEasy curl(::curl_easy_init());
  if (!curl) throw std::bad_alloc();
  return curl;
}

using boost::asio::ip::address;

// ::ffff:127.0.0.1 is 127.0.0.1. What is no address is none that the station has.
std::optional<address> read_address(std::string_view text) {
  boost::system::error_code failed;
  const address read = boost::asio::ip::make_address(text, failed);
  if (failed) return std::nullopt;
  if (read.is_v6() && read.to_v6().is_v4_mapped())
    return address(boost::asio::ip::make_address_v4(boost::asio::ip::v4_mapped, read.to_v6()));
  return read;
}

// An endpoint on all addresses is met on loopback and on the address that the connection itself comes from.
bool is_same(const OwnEndpoint& own, std::string_view to, std::string_view local, int port) {
  const auto there = read_address(to);
  const auto listening = read_address(own.address);
  if (own.port != port || !there || !listening) return false;
  if (listening->is_unspecified()) return there->is_loopback() || there == read_address(local);
  return *listening == *there;
}

ErrorCode code_of(CURLcode code) {
  switch (code) {
    case CURLE_COULDNT_RESOLVE_HOST:
    case CURLE_COULDNT_CONNECT:
      return ErrorCode::unreachable;
    case CURLE_OPERATION_TIMEDOUT:
      return ErrorCode::timed_out;
    case CURLE_LOGIN_DENIED:
      return ErrorCode::no_permission;
    case CURLE_GOT_NOTHING:
    case CURLE_RECV_ERROR:
    case CURLE_SEND_ERROR:
      return ErrorCode::closed;
    case CURLE_ABORTED_BY_CALLBACK:
      return ErrorCode::cancelled;
    default:
      return ErrorCode::refused;
  }
}

std::string remedy_for(CURLcode code) {
  switch (code) {
    case CURLE_PEER_FAILED_VERIFICATION:
    case CURLE_SSL_CACERT_BADFILE:
      return "Its certificate is not one that this computer believes: give the receiver a CA file, or mend "
             "the "
             "certificate.";
    case CURLE_COULDNT_RESOLVE_HOST:
      return "Look at how its host is written.";
    case CURLE_COULDNT_CONNECT:
      return "Look whether it runs, at that port.";
    case CURLE_LOGIN_DENIED:
      return "Set user and password again.";
    case CURLE_USE_SSL_FAILED:
      return "It does not offer TLS on this port: choose another security, or another port.";
    default:
      return {};
  }
}

}  // namespace

void add_line(CurlList& list, const std::string& line) {
  curl_slist* longer = ::curl_slist_append(list.get(), line.c_str());
  if (longer == nullptr) throw std::bad_alloc();
  (void)list.release();
  list.reset(longer);
}

base::Result<std::string> send_and_maybe_smaller(
    const Notice& notice, const std::function<base::Result<std::string>(const Notice&)>& once) {
  auto sent = once(notice);
  if (!sent && sent.error().code == ErrorCode::too_large && !notice.still.empty()) {
    Notice smaller = notice;
    smaller.still.clear();
    sent = once(smaller);
    if (sent) return *sent + ", without the still, which was too large";
  }
  if (sent || sent.error().code != ErrorCode::too_large) return sent;
  Error never = std::move(sent).error();
  never.code = ErrorCode::unsupported;
  return never;
}

Transfer::Transfer(const SenderOptions& options, const std::string& ca_file, const std::stop_token& stop)
    : curl_(make_easy()), options_(options), stop_(stop) {
  CURL* curl = curl_.get();
  ::curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, error_);
  ::curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
  // A name server that is dead keeps the end of the station no longer than the transfer.
  ::curl_easy_setopt(curl, CURLOPT_QUICK_EXIT, 1L);
  ::curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT_MS, static_cast<long>(options.connect_within.count()));
  ::curl_easy_setopt(curl, CURLOPT_TIMEOUT_MS, static_cast<long>(options.answer_within.count()));
  ::curl_easy_setopt(curl, CURLOPT_FOLLOWLOCATION, 0L);
  // A proxy of the environment would be told of every event.
  ::curl_easy_setopt(curl, CURLOPT_PROXY, "");
  ::curl_easy_setopt(curl, CURLOPT_SSLVERSION, static_cast<long>(CURL_SSLVERSION_TLSv1_2));
  if (!ca_file.empty()) ::curl_easy_setopt(curl, CURLOPT_CAINFO, ca_file.c_str());
  ::curl_easy_setopt(curl, CURLOPT_PREREQFUNCTION, &Transfer::on_ready);
  ::curl_easy_setopt(curl, CURLOPT_PREREQDATA, this);
  ::curl_easy_setopt(curl, CURLOPT_NOPROGRESS, 0L);
  ::curl_easy_setopt(curl, CURLOPT_XFERINFOFUNCTION, &Transfer::on_progress);
  ::curl_easy_setopt(curl, CURLOPT_XFERINFODATA, this);
  ::curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, &Transfer::on_bytes);
  ::curl_easy_setopt(curl, CURLOPT_WRITEDATA, this);
}

int Transfer::on_ready(void* self, char* address, char* local, int port, int) {
  auto& transfer = *static_cast<Transfer*>(self);
  for (const OwnEndpoint& own : transfer.options_.own) {
    if (is_same(own, address, local, port)) transfer.is_own_ = true;
  }
  return transfer.is_own_ ? CURL_PREREQFUNC_ABORT : CURL_PREREQFUNC_OK;
}

int Transfer::on_progress(void* self, curl_off_t, curl_off_t, curl_off_t, curl_off_t) {
  return static_cast<Transfer*>(self)->stop_.stop_requested() ? 1 : 0;
}

// Read to its end so that the receiver is not cut off, kept only as far as it is shown.
std::size_t Transfer::on_bytes(char* bytes, std::size_t size, std::size_t count, void* self) {
  std::string& answer = static_cast<Transfer*>(self)->answer_;
  answer.append(bytes, std::min(size * count, kMostAnswer - std::min(kMostAnswer, answer.size())));
  return size * count;
}

base::Result<std::string> Transfer::perform(const std::string& where) {
  const CURLcode code = ::curl_easy_perform(curl_.get());
  if (code == CURLE_OK) return std::move(answer_);
  if (is_own_) {
    return Error(ErrorCode::invalid_value, where, "it is the station itself",
                 "Give the address of a program that is to be told.");
  }
  if (stop_.stop_requested()) return Error(ErrorCode::cancelled, where, "stopped before it was answered");
  std::string detail = base::redact_address(error_[0] != '\0' ? error_ : ::curl_easy_strerror(code));
  return Error(code_of(code), where, std::move(detail), remedy_for(code));
}

}  // namespace rookery::notices
