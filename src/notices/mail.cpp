// Notices as mail: a text, and the still as an attachment.
#include <fmt/format.h>

#include <ctime>

#include "notices/curl.h"

namespace rookery::notices {
namespace {

using base::Error;
using base::ErrorCode;

// RFC 5322, section 3.3. Not by strftime: names of days and months do not depend on the locale here.
std::string date_of(base::WallTime at) {
  constexpr const char* kDays[] = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};
  constexpr const char* kMonths[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const std::time_t seconds = std::chrono::floor<std::chrono::seconds>(at).time_since_epoch().count();
  std::tm utc{};
  ::gmtime_r(&seconds, &utc);
  return fmt::format("{}, {:02} {} {} {:02}:{:02}:{:02} +0000", kDays[utc.tm_wday], utc.tm_mday,
                     kMonths[utc.tm_mon], utc.tm_year + 1900, utc.tm_hour, utc.tm_min, utc.tm_sec);
}

// RFC 2047: a header's text in UTF-8, in encoded words that are none too long.
std::string encoded(std::string_view text) {
  constexpr std::size_t kMostBytes = 15;  // of text in a word: 45 of the 75 that are allowed
  std::string out;
  while (!text.empty()) {
    std::size_t size = std::min(kMostBytes, text.size());
    // Not within a character.
    while (size < text.size() && size > 1 && (static_cast<unsigned char>(text[size]) & 0xC0) == 0x80) --size;
    out += out.empty() ? "=?utf-8?Q?" : "\r\n =?utf-8?Q?";
    for (const char c : text.substr(0, size)) out += fmt::format("={:02X}", static_cast<unsigned char>(c));
    out += "?=";
    text.remove_prefix(size);
  }
  return out;
}

void check_part(CURLcode code) {
  if (code != CURLE_OK) throw std::bad_alloc();
}

class MailSender final : public Sender {
 public:
  MailSender(const Receiver& receiver, SenderOptions options)
      : mail_(std::get<Mail>(receiver.way)),
        where_(fmt::format("mail by {}:{}", mail_.host, mail_.port)),
        options_(std::move(options)) {}

  base::Result<std::string> send(const Notice& notice, const std::stop_token& stop) override {
    return send_and_maybe_smaller(notice, [&](const Notice& one) { return mail(one, stop); });
  }

 private:
  base::Result<std::string> mail(const Notice& notice, const std::stop_token& stop) {
    Transfer transfer(options_, mail_.ca_file, stop);
    CURL* curl = transfer.get();
    const bool tls = mail_.security == Mail::Security::tls;
    const std::string host = mail_.host.find(':') == std::string::npos ? mail_.host : "[" + mail_.host + "]";
    const std::string address = fmt::format("{}://{}:{}", tls ? "smtps" : "smtp", host, mail_.port);
    ::curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "smtp,smtps");
    ::curl_easy_setopt(curl, CURLOPT_URL, address.c_str());
    ::curl_easy_setopt(curl, CURLOPT_USE_SSL,
                       mail_.security == Mail::Security::none ? static_cast<long>(CURLUSESSL_NONE)
                                                              : static_cast<long>(CURLUSESSL_ALL));
    if (!mail_.user.empty()) {
      ::curl_easy_setopt(curl, CURLOPT_USERNAME, mail_.user.c_str());
      ::curl_easy_setopt(curl, CURLOPT_PASSWORD, mail_.password.c_str());
    }
    const std::string from = "<" + mail_.from + ">";
    ::curl_easy_setopt(curl, CURLOPT_MAIL_FROM, from.c_str());
    CurlList to;
    for (const std::string& one : mail_.to) add_line(to, "<" + one + ">");
    ::curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, to.get());
    const CurlList lines = headers(notice);
    ::curl_easy_setopt(curl, CURLOPT_HTTPHEADER, lines.get());
    const CurlMime mime = parts(curl, notice);
    ::curl_easy_setopt(curl, CURLOPT_MIMEPOST, mime.get());
    auto sent = transfer.perform(where_);
    long status = 0;
    ::curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &status);
    if (sent) return fmt::format("SMTP {}", status);
    // RFC 1870: 552 is what is too large. RFC 5321, section 4.2.1: other 5xx are for good; libcurl calls an
    // answer to sender, receiver or content (not one to the greeting or a sign-in) a failure to send.
    Error failed = std::move(sent).error();
    if (status == 552) {
      failed.code = ErrorCode::too_large;
    } else if (status >= 500 && failed.code == ErrorCode::closed) {
      failed.code = ErrorCode::unsupported;
      failed.remedy = "Look at the addresses of the receiver, and into the mail server's own log.";
    }
    return failed;
  }

  CurlList headers(const Notice& notice) const {
    CurlList lines;
    std::string to = mail_.to.front();
    for (std::size_t i = 1; i < mail_.to.size(); ++i) to += ",\r\n " + mail_.to[i];
    add_line(lines, "Date: " + date_of(notice.made));
    add_line(lines, "From: Rookery <" + mail_.from + ">");
    add_line(lines, "To: " + to);
    add_line(lines, "Subject: " + encoded(subject_of(notice)));
    // The same for every try: a mail that arrived though its answer was lost is seen to be the same.
    add_line(lines,
             fmt::format("Message-ID: <notice-{}-{}@{}>", notice.id, notice.made.time_since_epoch().count(),
                         mail_.from.substr(mail_.from.find('@') + 1)));
    add_line(lines, "Auto-Submitted: auto-generated");  // RFC 3834: no answer by a machine, please
    return lines;
  }

  static CurlMime parts(CURL* curl, const Notice& notice) {
    CurlMime mime(::curl_mime_init(curl));
    if (!mime) throw std::bad_alloc();
    const std::string words = text_of(notice);
    curl_mimepart* text = ::curl_mime_addpart(mime.get());
    check_part(::curl_mime_data(text, words.data(), words.size()));
    check_part(::curl_mime_type(text, "text/plain; charset=utf-8"));
    check_part(::curl_mime_encoder(text, "quoted-printable"));
    if (notice.still.empty()) return mime;
    curl_mimepart* still = ::curl_mime_addpart(mime.get());
    check_part(::curl_mime_data(still, notice.still.data(), notice.still.size()));
    check_part(::curl_mime_type(still, "image/jpeg"));
    check_part(::curl_mime_encoder(still, "base64"));
    check_part(::curl_mime_filename(still, fmt::format("{}.jpg", notice.camera).c_str()));
    return mime;
  }

  const Mail mail_;
  const std::string where_;
  const SenderOptions options_;
};

}  // namespace

std::unique_ptr<Sender> make_mail_sender(const Receiver& receiver, const SenderOptions& options) {
  return std::make_unique<MailSender>(receiver, options);
}

}  // namespace rookery::notices
