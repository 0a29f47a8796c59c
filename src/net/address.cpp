#include "net/address.h"

#include <algorithm>
#include <cctype>

#include <fmt/format.h>
#include <boost/url.hpp>

#include "base/redact.h"

namespace rookery::net {

using base::Error;
using base::ErrorCode;
using base::Result;

namespace {

constexpr std::string_view kExample = "http://192.168.4.9:81/stream";

Error bad(std::string detail, std::string remedy = fmt::format("Write it like {}", kExample)) {
  return {ErrorCode::invalid_value, "address", std::move(detail), std::move(remedy)};
}

std::string_view trimmed(std::string_view text) {
  const auto space = [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; };
  while (!text.empty() && space(text.front())) text.remove_prefix(1);
  while (!text.empty() && space(text.back())) text.remove_suffix(1);
  return text;
}

std::string lower(std::string_view text) {
  std::string out(text);
  std::ranges::transform(out, out.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

// Text without a scheme, for an offer to put one before it: what looks like user information is left out.
std::string without_sign_in(std::string_view text) {
  const auto at = text.substr(0, text.find_first_of("/?#")).rfind('@');
  return base::redact_address(at == std::string_view::npos ? text : text.substr(at + 1));
}

// What can be said before the grammar is asked, in words that it would not find.
Result<void> check_text(std::string_view text) {
  if (text.empty()) return bad("the address is empty");
  if (text.size() > Address::kMaxLength) {
    return bad(fmt::format("the address has {} characters, more than {}", text.size(), Address::kMaxLength));
  }
  const auto strange = std::ranges::find_if(text, [](unsigned char c) { return c < 0x20 || c == 0x7f; });
  if (strange != text.end()) {
    return bad(fmt::format("character {} of the address is a control character (0x{:02x})",
                           strange - text.begin() + 1, static_cast<unsigned char>(*strange)),
               "Type it instead of pasting it");
  }
  if (const auto space = text.find(' '); space != std::string_view::npos) {
    return bad(fmt::format("character {} of the address is a space", space + 1),
               "Write %20 for a space in a path");
  }
  if (text.find("://") == std::string_view::npos) {
    return bad(fmt::format("\"{}\" does not begin with http:// or https://", without_sign_in(text)),
               fmt::format("Did you mean http://{}?", without_sign_in(text)));
  }
  return base::ok();
}

Result<std::uint16_t> port_of(const boost::urls::url_view& url, Scheme scheme) {
  const std::string_view text(url.port().data(), url.port().size());
  if (text.empty()) return static_cast<std::uint16_t>(scheme == Scheme::https ? 443 : 80);
  const bool digits = std::ranges::all_of(text, [](char c) { return c >= '0' && c <= '9'; });
  const auto first = std::min(text.find_first_not_of('0'), text.size());
  const std::string_view value = text.substr(first);
  const unsigned long number =
      digits && value.size() <= 5 && !value.empty() ? std::stoul(std::string(value)) : 0;
  if (number == 0 || number > 65535) {
    return bad(fmt::format("port {} is outside 1 to 65535", text),
               "Stills are often on port 80, the stream on 81");
  }
  return static_cast<std::uint16_t>(number);
}

Result<Address> from_url(const boost::urls::url_view& url) {
  Address out;
  const std::string scheme = lower(std::string_view(url.scheme().data(), url.scheme().size()));
  if (scheme == "https") {
    out.scheme = Scheme::https;
  } else if (scheme != "http") {
    return Error(ErrorCode::unsupported, "address", fmt::format("{}:// addresses are not supported", scheme),
                 "Rookery takes motion JPEG and JPEG stills over http:// and https://");
  }
  out.host = lower(std::string(url.host_address()));
  if (out.host.empty()) return bad("the address has no host name");
  auto port = port_of(url, out.scheme);
  if (!port) return std::move(port).error();
  out.port = *port;
  out.target = std::string(url.encoded_path().data(), url.encoded_path().size());
  // Boost.URL 1.81 takes "host:8a/" for port 8 and path "a/", against RFC 3986 §3.
  if (!out.target.empty() && out.target.front() != '/')
    return bad("what follows the host is not a valid address");
  if (out.target.empty()) out.target = "/";
  if (url.has_query())
    out.target += "?" + std::string(url.encoded_query().data(), url.encoded_query().size());
  if (url.has_userinfo()) {
    out.user = std::string(url.user());
    out.password = std::string(url.password());
    if (out.user.find(':') != std::string::npos) {
      return bad("the user name in the address holds a colon", "HTTP sign-in cannot carry it (RFC 7617)");
    }
  }
  return out;
}

}  // namespace

Result<Address> Address::parse(std::string_view text) {
  text = trimmed(text);
  if (auto checked = check_text(text); !checked) return std::move(checked).error();
  const auto url = boost::urls::parse_uri(boost::urls::string_view(text.data(), text.size()));
  if (!url) {
    return bad(
        fmt::format("\"{}\" is not a valid address ({})", base::redact_address(text), url.error().message()));
  }
  return from_url(*url);
}

Result<Address> Address::resolve(std::string_view location) const {
  location = trimmed(location);
  if (location.empty() || location.size() > kMaxLength) return bad("a redirect leads nowhere");
  const std::string here =
      fmt::format("{}://{}{}", scheme == Scheme::https ? "https" : "http", host_field(), target);
  const auto base_url = boost::urls::parse_uri(here);
  const auto reference =
      boost::urls::parse_uri_reference(boost::urls::string_view(location.data(), location.size()));
  if (!base_url || !reference) {
    return bad(
        fmt::format("a redirect leads to \"{}\", which is no address", base::redact_address(location)));
  }
  boost::urls::url joined;
  const auto resolved = boost::urls::resolve(*base_url, *reference, joined);
  if (!resolved) return bad(fmt::format("a redirect leads to \"{}\"", base::redact_address(location)));
  auto out = from_url(joined);
  if (!out) return out;
  const bool stays = out->host == host;
  out->user = stays ? user : std::string();
  out->password = stays ? password : std::string();
  return out;
}

std::string Address::host_field() const {
  const bool usual = port == (scheme == Scheme::https ? 443 : 80);
  const std::string name = host.find(':') != std::string::npos ? "[" + host + "]" : host;
  return usual ? name : fmt::format("{}:{}", name, port);
}

std::string Address::shown() const {
  return base::redact_address(
      fmt::format("{}://{}{}", scheme == Scheme::https ? "https" : "http", host_field(), target));
}

}  // namespace rookery::net
