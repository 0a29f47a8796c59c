#include "camera/check.h"

#include <charconv>

#include <boost/url/parse.hpp>
#include <boost/url/url_view.hpp>

#include "base/redact.h"

namespace rookery::camera {
namespace {

using base::Error;
using base::ErrorCode;
using base::Result;

constexpr std::size_t kMostAddress = 2048;
constexpr std::size_t kMostShown = 200;  // of an address in an error
constexpr std::size_t kMostTitle = 100;
constexpr std::size_t kMostSignIn = 128;

Error invalid(std::string where, std::string detail, std::string remedy) {
  return {ErrorCode::invalid_value, std::move(where), std::move(detail), std::move(remedy)};
}

bool has_control(std::string_view text) {
  return std::any_of(text.begin(), text.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte < 0x20 || byte == 0x7f;
  });
}

// Cut after redacting: a cut before the "@" would leave a sign-in standing.
std::string shown_address(std::string_view address) {
  return base::redact_address(address).substr(0, kMostShown);
}

// Empty ("http://cog:/") is the scheme's own port, RFC 3986 section 3.2.3.
bool is_port(std::string_view digits) {
  unsigned port = 0;
  const auto [end, failed] = std::from_chars(digits.data(), digits.data() + digits.size(), port);
  return digits.empty() ||
         (failed == std::errc() && end == digits.data() + digits.size() && port > 0 && port < 65536);
}

Result<void> check_text(const std::string& where, std::string_view text, std::size_t most) {
  if (text.size() > most) {
    return invalid(where, fmt::format("it has {} bytes, at most {} are allowed", text.size(), most),
                   "Shorten it.");
  }
  if (has_control(text)) {
    return invalid(where, "it holds a line break or another control character", "Write it in one line.");
  }
  return base::ok();
}

// The addresses that this source reads must be there; one that it does not read may be kept for later.
Result<void> check_addresses(const Settings& settings) {
  if (settings.source == Source::stream && settings.stream_address.empty()) {
    return invalid("stream address", "it is empty, and the pictures are to come from a stream",
                   "Give the board's stream address, for example http://192.0.2.17:81/stream.");
  }
  if (settings.source == Source::stills && settings.still_address.empty()) {
    return invalid("still address", "it is empty, and the pictures are to come as stills",
                   "Give the board's still address, for example http://192.0.2.17/still.jpg.");
  }
  if (!settings.stream_address.empty()) {
    if (auto good = check_address("stream address", settings.stream_address); !good) return good;
  }
  if (!settings.still_address.empty()) {
    if (auto good = check_address("still address", settings.still_address); !good) return good;
  }
  return base::ok();
}

Result<void> check_sign_in(const Settings& settings) {
  if (auto good = check_text("user", settings.user, kMostSignIn); !good) return good;
  if (auto good = check_text("password", settings.password, kMostSignIn); !good) return good;
  // RFC 7617, section 2: the colon ends the user in basic sign-in.
  if (settings.user.find(':') != std::string::npos) {
    return invalid("user", "it holds a \":\", which a basic sign-in cannot carry",
                   "Use a user without \":\".");
  }
  if (settings.user.empty() && !settings.password.empty()) {
    return invalid("user", "there is a password, but no user", "Give both, or neither.");
  }
  return base::ok();
}

Result<void> check_limits(const Settings& settings) {
  using namespace std::chrono_literals;
  if (settings.poll_every < 100ms || settings.poll_every > 1h) {
    return invalid("poll interval",
                   fmt::format("{} ms is outside 100 ms to 1 h", settings.poll_every.count()),
                   "Choose one in between; 1000 ms suits most boards.");
  }
  if (settings.pre_roll < 0ms || settings.pre_roll > 30s) {
    return invalid("pre-roll", fmt::format("{} ms is outside 0 to 30000 ms", settings.pre_roll.count()),
                   "It is held in memory; 5000 ms shows how most things began.");
  }
  if (settings.post_roll < 0ms || settings.post_roll > 120s) {
    return invalid("post-roll", fmt::format("{} ms is outside 0 to 120000 ms", settings.post_roll.count()),
                   "Choose one in between; 10000 ms suits most places.");
  }
  if (settings.sensitivity.step < vision::Sensitivity::kCoarsest ||
      settings.sensitivity.step > vision::Sensitivity::kFinest) {
    return invalid("sensitivity", fmt::format("{} is outside 1 to 5", settings.sensitivity.step),
                   "1 is coarse, 3 the middle, 5 fine.");
  }
  constexpr std::chrono::hours kMostHours{24 * 365 * 20};
  if (settings.keep_for && (*settings.keep_for < 1h || *settings.keep_for > kMostHours)) {
    return invalid("keep for", fmt::format("{} h is outside 1 h to 20 years", settings.keep_for->count()),
                   "Choose a time in between, or none: then recordings go only when space runs out.");
  }
  constexpr std::uint64_t kMostBytes = 1ull << 60;
  if (settings.keep_bytes && (*settings.keep_bytes == 0 || *settings.keep_bytes > kMostBytes)) {
    return invalid(
        "keep bytes", fmt::format("{} bytes is no bound for recordings", *settings.keep_bytes),
        "Give at least 1 byte, or none: then this camera has no bound of its own; to stop recording, "
        "choose to record never.");
  }
  return base::ok();
}

}  // namespace

Result<void> check_address(std::string_view what, std::string_view address) {
  const std::string where(what);
  if (address.size() > kMostAddress) {
    return invalid(where,
                   fmt::format("it has {} characters, at most {} are allowed", address.size(), kMostAddress),
                   "Shorten it.");
  }
  // Without a scheme, "hall:secret@cog" would read as the scheme "hall": it is shown, and redacted, as what
  // was meant.
  if (address.find("://") == std::string_view::npos) {
    const std::string meant = shown_address("http://" + std::string(address));
    return invalid(where, fmt::format("\"{}\" is not a web address", meant.substr(7)),
                   fmt::format("Put http:// in front: {}", meant));
  }
  const std::string shown = shown_address(address);
  const auto parsed = boost::urls::parse_uri(address);
  if (!parsed) {
    return invalid(where, fmt::format("\"{}\" is not a web address", shown),
                   "Write it as http://HOST:PORT/PATH, without spaces.");
  }
  const boost::urls::url_view url = parsed.value();
  if (url.scheme_id() != boost::urls::scheme::http && url.scheme_id() != boost::urls::scheme::https) {
    return invalid(where, fmt::format("\"{}\" starts with {}:", shown, std::string(url.scheme())),
                   "Boards are read over http:// or https://.");
  }
  if (!url.has_authority() || url.encoded_host().empty()) {
    return invalid(where, fmt::format("\"{}\" names no host", shown), "Write it as http://HOST:PORT/PATH.");
  }
  if (url.has_userinfo()) {
    return invalid(where, fmt::format("\"{}\" holds a sign-in", shown),
                   "Take it out of the address and give it as user and password: there it is stored sealed.");
  }
  if (url.has_port() && !is_port(url.port())) {
    return invalid(where, fmt::format("\"{}\" has no port from 1 to 65535", shown),
                   "Without a port, 80 is used (443 with https).");
  }
  if (url.has_fragment()) {
    return invalid(where, fmt::format("\"{}\" holds a \"#\", which never reaches the board", shown),
                   "Leave \"#\" and what follows out, or write %23 when the board wants that character.");
  }
  return base::ok();
}

Result<void> check(const Settings& settings) {
  Result<void> good = check_text("title", settings.title, kMostTitle);
  if (good) good = check_addresses(settings);
  if (good) good = check_sign_in(settings);
  if (good) good = check_limits(settings);
  if (good) return good;
  const Error& fault = good.error();
  return invalid(fmt::format("{}: {}", settings.name.text(), fault.where), fault.detail, fault.remedy);
}

}  // namespace rookery::camera
