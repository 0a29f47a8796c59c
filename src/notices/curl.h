// Inner: what webhook and mail share of libcurl.
#pragma once

#include <curl/curl.h>

#include <functional>
#include <memory>
#include <stop_token>
#include <string>

#include "base/result.h"
#include "notices/sender.h"

namespace rookery::notices {

struct CurlDeleter {
  void operator()(CURL* curl) const { ::curl_easy_cleanup(curl); }
  void operator()(curl_slist* list) const { ::curl_slist_free_all(list); }
  void operator()(curl_mime* mime) const { ::curl_mime_free(mime); }
};
using CurlEasy = std::unique_ptr<CURL, CurlDeleter>;
using CurlList = std::unique_ptr<curl_slist, CurlDeleter>;
using CurlMime = std::unique_ptr<curl_mime, CurlDeleter>;

// Adds a line; what libcurl has no memory for throws std::bad_alloc.
void add_line(CurlList& list, const std::string& line);

// Sends, and once more without the still where the other side found it too large. once: one try; too_large is
// its word for that. What it will not take even so is unsupported.
base::Result<std::string> send_and_maybe_smaller(
    const Notice& notice, const std::function<base::Result<std::string>(const Notice&)>& once);

// One transfer with the time-outs, TLS rules and the way out that all have: certificates are checked, nothing
// is followed elsewhere, the station's own endpoints are not called, `stop` ends it.
class Transfer {
 public:
  Transfer(const SenderOptions& options, const std::string& ca_file, const std::stop_token& stop);
  Transfer(const Transfer&) = delete;
  Transfer& operator=(const Transfer&) = delete;

  CURL* get() const { return curl_.get(); }
  // What came back, its first bytes. where: for errors. Errors: those of Sender::send.
  base::Result<std::string> perform(const std::string& where);

 private:
  static int on_ready(void* self, char* address, char* local, int port, int local_port);
  static int on_progress(void* self, curl_off_t, curl_off_t, curl_off_t, curl_off_t);
  static std::size_t on_bytes(char* bytes, std::size_t size, std::size_t count, void* self);

  CurlEasy curl_;
  const SenderOptions& options_;
  const std::stop_token& stop_;
  char error_[CURL_ERROR_SIZE] = {};
  std::string answer_;
  bool is_own_ = false;
};

}  // namespace rookery::notices
