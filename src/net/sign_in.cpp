#include "net/sign_in.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <stdexcept>

#include <fmt/format.h>
#include <openssl/evp.h>
#include <openssl/rand.h>

namespace rookery::net {

namespace {

std::string lower(std::string_view text) {
  std::string out(text);
  std::ranges::transform(out, out.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return out;
}

bool is_token(char c) {
  // RFC 9110 §5.6.2
  return std::isalnum(static_cast<unsigned char>(c)) != 0 ||
         std::string_view("!#$%&'*+-.^_`|~").find(c) != std::string_view::npos;
}

// Walks over a field value piece by piece.
class Cursor {
 public:
  explicit Cursor(std::string_view text) : text_(text) {}
  bool at_end() const { return at_ == text_.size(); }
  char look() const { return at_end() ? '\0' : text_[at_]; }
  void step() {
    if (!at_end()) ++at_;
  }
  void skip(std::string_view what) {
    while (!at_end() && what.find(text_[at_]) != std::string_view::npos) ++at_;
  }
  std::string_view token() {
    const std::size_t from = at_;
    while (!at_end() && is_token(text_[at_])) ++at_;
    return text_.substr(from, at_ - from);
  }
  std::string value() {
    if (look() != '"') {
      // Broader than a token: bare values with "/" or "=" are seen.
      const std::size_t from = at_;
      while (!at_end() && text_[at_] != ',' && text_[at_] != ' ') ++at_;
      return std::string(text_.substr(from, at_ - from));
    }
    std::string out;
    for (step(); !at_end() && look() != '"'; step()) {
      if (look() == '\\') step();
      if (!at_end()) out += look();
    }
    if (!at_end()) step();
    return out;
  }

 private:
  std::string_view text_;
  std::size_t at_ = 0;
};

std::string hex(std::string_view bytes) {
  std::string out;
  for (const unsigned char c : bytes) out += fmt::format("{:02x}", c);
  return out;
}

std::string hash(const EVP_MD* kind, const std::string& text) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> out{};
  unsigned int size = 0;
  if (EVP_Digest(text.data(), text.size(), out.data(), &size, kind, nullptr) != 1) {
    throw std::runtime_error("this OpenSSL refuses the hash that digest sign-in needs");
  }
  return hex(std::string_view(reinterpret_cast<const char*>(out.data()), size));
}

std::string fresh_cnonce() {
  std::array<unsigned char, 16> bytes{};
  if (RAND_bytes(bytes.data(), static_cast<int>(bytes.size())) != 1)
    throw std::runtime_error("no random bytes");
  return hex(std::string_view(reinterpret_cast<const char*>(bytes.data()), bytes.size()));
}

std::string base64(std::string_view text) {
  std::string out(4 * ((text.size() + 2) / 3), '\0');
  const int n =
      EVP_EncodeBlock(reinterpret_cast<unsigned char*>(out.data()),
                      reinterpret_cast<const unsigned char*>(text.data()), static_cast<int>(text.size()));
  out.resize(static_cast<std::size_t>(n));
  return out;
}

// The hash that a digest challenge asks for; null when unknown.
const EVP_MD* hash_of(const Challenge& challenge) {
  std::string algorithm = lower(challenge.param("algorithm"));
  if (algorithm.ends_with("-sess")) algorithm.resize(algorithm.size() - 5);
  if (algorithm.empty() || algorithm == "md5") return EVP_md5();
  if (algorithm == "sha-256") return EVP_sha256();
  return nullptr;
}

bool offers_auth(std::string_view qop) {
  Cursor cursor(qop);
  while (!cursor.at_end()) {
    cursor.skip(" ,\t");
    if (lower(cursor.token()) == "auth") return true;
    if (!cursor.at_end() && !is_token(cursor.look())) cursor.step();
  }
  return false;
}

// 0: not usable; else the higher the better.
int rank(const Challenge& challenge) {
  if (challenge.scheme == "basic") return 1;
  if (challenge.scheme != "digest" || challenge.param("nonce").empty()) return 0;
  const std::string_view qop = challenge.param("qop");
  if (!qop.empty() && !offers_auth(qop)) return 0;  // auth-int alone: needs the body
  const EVP_MD* kind = hash_of(challenge);
  if (kind == nullptr) return 0;
  return kind == EVP_sha256() ? 3 : 2;
}

// A quoted string; control characters, which no header may carry, are left out.
std::string quote(std::string_view text) {
  std::string out = "\"";
  for (const char c : text) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) continue;
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

}  // namespace

std::string_view Challenge::param(std::string_view name) const& {
  const auto found = std::ranges::find_if(params, [&](const auto& p) { return p.first == name; });
  return found == params.end() ? std::string_view() : std::string_view(found->second);
}

std::vector<Challenge> parse_challenges(std::string_view field) {
  std::vector<Challenge> out;
  Cursor cursor(field);
  while (!cursor.at_end()) {
    cursor.skip(" ,\t");
    const std::string_view word = cursor.token();
    if (word.empty()) {
      if (!cursor.at_end()) cursor.step();
      continue;
    }
    cursor.skip(" \t");
    if (cursor.look() == '=' && !out.empty()) {
      cursor.step();
      cursor.skip(" \t");
      out.back().params.emplace_back(lower(word), cursor.value());
    } else {
      out.push_back({lower(word), {}});
    }
  }
  return out;
}

SignIn::SignIn(std::string user, std::string password)
    : user_(std::move(user)), password_(std::move(password)) {}

bool SignIn::accept(const std::vector<std::string>& fields) {
  std::optional<Challenge> best;
  for (const std::string& field : fields) {
    for (Challenge& challenge : parse_challenges(field)) {
      if (rank(challenge) > (best ? rank(*best) : 0)) best = std::move(challenge);
    }
  }
  if (!best) return false;
  stale_ = lower(best->param("stale")) == "true";
  challenge_ = std::move(best);
  uses_ = 0;
  session_cnonce_.clear();
  return true;
}

std::optional<std::string> SignIn::header(std::string_view method, std::string_view target) {
  return header(method, target, fresh_cnonce());
}

std::optional<std::string> SignIn::header(std::string_view method, std::string_view target,
                                          std::string_view cnonce) {
  if (!challenge_ || !usable()) return std::nullopt;
  const Challenge& c = *challenge_;
  if (c.scheme == "basic") return "Basic " + base64(user_ + ":" + password_);

  const EVP_MD* kind = hash_of(c);
  const std::string nonce(c.param("nonce"));
  const std::string count = fmt::format("{:08x}", ++uses_);
  const bool session = lower(c.param("algorithm")).ends_with("-sess");
  // The session's key is made with the first client nonce, which therefore stays (RFC 7616 §3.4.2).
  if (session && session_cnonce_.empty()) session_cnonce_ = cnonce;
  const std::string client = session ? session_cnonce_ : std::string(cnonce);
  std::string a1 = hash(kind, fmt::format("{}:{}:{}", user_, c.param("realm"), password_));
  if (session) a1 = hash(kind, fmt::format("{}:{}:{}", a1, nonce, client));
  const std::string a2 = hash(kind, fmt::format("{}:{}", method, target));
  const bool qop = !c.param("qop").empty();
  const std::string response =
      qop ? hash(kind, fmt::format("{}:{}:{}:{}:auth:{}", a1, nonce, count, client, a2))
          : hash(kind, fmt::format("{}:{}:{}", a1, nonce, a2));
  std::string out = fmt::format("Digest username={}, realm={}, nonce={}, uri={}, response=\"{}\"",
                                quote(user_), quote(c.param("realm")), quote(nonce), quote(target), response);
  if (!c.param("algorithm").empty()) out += fmt::format(", algorithm={}", c.param("algorithm"));
  if (qop) out += fmt::format(", qop=auth, nc={}", count);
  if (qop || session) out += fmt::format(", cnonce={}", quote(client));
  if (!c.param("opaque").empty()) out += fmt::format(", opaque={}", quote(c.param("opaque")));
  return out;
}

}  // namespace rookery::net
