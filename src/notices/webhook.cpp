// Notices as HTTP POST.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "base/redact.h"
#include "notices/curl.h"
#include "notices/http_signature.h"

namespace rookery::notices {
namespace {

using base::Error;
using base::ErrorCode;

class WebhookSender final : public Sender {
 public:
  WebhookSender(const Receiver& receiver, SenderOptions options, const base::Clock& clock)
      : key_id_(fmt::format("receiver-{}", receiver.id)),
        webhook_(std::get<Webhook>(receiver.way)),
        where_("POST " + base::redact_address(webhook_.address)),
        options_(std::move(options)),
        clock_(clock) {}

  base::Result<std::string> send(const Notice& notice, const std::stop_token& stop) override {
    return send_and_maybe_smaller(notice, [&](const Notice& one) { return post(one, stop); });
  }

 private:
  base::Result<std::string> post(const Notice& notice, const std::stop_token& stop) {
    const std::string body = body_of(notice);
    const auto headers = sign_post(webhook_.address, body, webhook_.secret, key_id_, clock_.wall());
    CurlList lines;
    add_line(lines, "Content-Type: application/json");
    add_line(lines, "Content-Digest: " + headers.content_digest);
    add_line(lines, "Signature-Input: " + headers.signature_input);
    add_line(lines, "Signature: " + headers.signature);
    add_line(lines, "Expect:");  // no waiting for "100 Continue"
    Transfer transfer(options_, webhook_.ca_file, stop);
    CURL* curl = transfer.get();
    ::curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "http,https");
    ::curl_easy_setopt(curl, CURLOPT_URL, webhook_.address.c_str());
    ::curl_easy_setopt(curl, CURLOPT_USERAGENT, "rookery");
    ::curl_easy_setopt(curl, CURLOPT_HTTPHEADER, lines.get());
    ::curl_easy_setopt(curl, CURLOPT_POSTFIELDS, body.c_str());
    ::curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE_LARGE, static_cast<curl_off_t>(body.size()));
    auto answer = transfer.perform(where_);
    if (!answer) return answer;
    long status = 0;
    ::curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &status);
    if (status >= 200 && status < 300) return fmt::format("HTTP {}", status);
    return Error(code_of(status), where_, fmt::format("HTTP {}", status),
                 status == 401 || status == 403 ? "Look whether both sides have the same secret."
                                                : "Look into the receiver's own log.");
  }

  // RFC 9110, section 15.5, and RFC 6585: some of these pass, or end when a person sets something right; the
  // others mean this request.
  static ErrorCode code_of(long status) {
    constexpr std::array kMayPass{401L, 403L, 404L, 405L, 407L, 408L, 421L, 423L, 425L, 429L};
    if (status == 413) return ErrorCode::too_large;
    if (status < 400 || status >= 500 || std::ranges::find(kMayPass, status) != kMayPass.end())
      return ErrorCode::refused;
    return ErrorCode::unsupported;
  }

  const std::string key_id_;
  const Webhook webhook_;
  const std::string where_;
  const SenderOptions options_;
  const base::Clock& clock_;
};

}  // namespace

std::unique_ptr<Sender> make_webhook_sender(const Receiver& receiver, const SenderOptions& options,
                                            const base::Clock& clock) {
  return std::make_unique<WebhookSender>(receiver, options, clock);
}

std::unique_ptr<Sender> make_sender(const Receiver& receiver, const SenderOptions& options,
                                    const base::Clock& clock) {
  if (std::holds_alternative<Webhook>(receiver.way)) return make_webhook_sender(receiver, options, clock);
  if (std::holds_alternative<Mqtt>(receiver.way)) return make_mqtt_sender(receiver, options);
  return make_mail_sender(receiver, options);
}

}  // namespace rookery::notices
