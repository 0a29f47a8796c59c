#include "camera/identity.h"

#include <algorithm>

#include "camera/fingerprint.h"
#include "net/address.h"

namespace rookery::camera {
namespace {

bool has(const std::vector<std::string>& all, std::string_view one) {
  return std::ranges::find(all, one) != all.end();
}

// How sure it is that `found` is this one, and by what.
std::optional<BoardMatch> compare(const BoardEvidence& found, const std::vector<std::string>& addresses,
                                  const KnownBoard& known) {
  const bool here = std::ranges::any_of(addresses, [&](const auto& one) { return has(known.hosts, one); }) ||
                    (!found.host.empty() && has(known.hosts, found.host));
  if (found.hardware && known.evidence.hardware) {
    if (*found.hardware != *known.evidence.hardware) return std::nullopt;
    return BoardMatch{known.camera, Sureness::sure, "its hardware address", here};
  }
  const bool named = (!found.announced.empty() && found.announced == known.evidence.announced) ||
                     (!found.host.empty() && found.host == known.evidence.host);
  const bool alike = is_alike(found.fingerprint, known.evidence.fingerprint);
  if (here) return BoardMatch{known.camera, Sureness::likely, "its address", true};
  if (named && alike)
    return BoardMatch{known.camera, Sureness::likely, "its announced name and its answers", false};
  if (named) return BoardMatch{known.camera, Sureness::weak, "its announced name", false};
  return std::nullopt;
}

}  // namespace

std::string_view name_of(Sureness sureness) {
  switch (sureness) {
    case Sureness::sure:
      return "sure";
    case Sureness::likely:
      return "likely";
    case Sureness::weak:
      return "weak";
    case Sureness::none:
      return "none";
  }
  return "none";
}

BoardIdentity identify(const BoardEvidence& evidence) {
  if (evidence.hardware) return {"hw:" + evidence.hardware->text(), Sureness::sure};
  if (!evidence.announced.empty() && !evidence.fingerprint.empty())
    return {"name:" + evidence.announced + "/" + evidence.fingerprint, Sureness::likely};
  if (!evidence.announced.empty()) return {"name:" + evidence.announced, Sureness::weak};
  if (!evidence.fingerprint.empty()) return {"fp:" + evidence.fingerprint, Sureness::weak};
  return {};
}

KnownBoard known_board(const Settings& settings) {
  KnownBoard out(settings.name);
  for (const std::string& text : {settings.stream_address, settings.still_address}) {
    if (text.empty()) continue;
    const auto address = net::Address::parse(text);
    if (!address) continue;
    std::string host = address->host;
    while (!host.empty() && host.back() == '.') host.pop_back();
    if (!has(out.hosts, host)) out.hosts.push_back(std::move(host));
  }
  return out;
}

std::optional<BoardMatch> match(const BoardEvidence& found, const std::vector<std::string>& found_addresses,
                                std::span<const KnownBoard> known) {
  std::optional<BoardMatch> best;
  for (const KnownBoard& one : known) {
    auto compared = compare(found, found_addresses, one);
    if (compared && (!best || compared->sureness < best->sureness)) best = std::move(compared);
  }
  return best;
}

std::optional<std::size_t> match_by_answers(const KnownBoard& missing, std::span<const KnownBoard> known,
                                            std::span<const BoardEvidence> strangers) {
  const std::string& print = missing.evidence.fingerprint;
  if (!missing.is_missing || print.empty()) return std::nullopt;
  const auto rivals = std::ranges::count_if(known, [&](const KnownBoard& one) {
    return one.camera != missing.camera && one.is_missing && is_alike(one.evidence.fingerprint, print);
  });
  if (rivals > 0) return std::nullopt;
  const auto contradicts = [](const auto& a, const auto& b, const auto& none) {
    return a != none && b != none && a != b;
  };
  std::optional<std::size_t> out;
  for (std::size_t i = 0; i < strangers.size(); ++i) {
    const BoardEvidence& one = strangers[i];
    if (!is_alike(one.fingerprint, print)) continue;
    if (contradicts(one.hardware, missing.evidence.hardware, decltype(one.hardware)())) continue;
    if (contradicts(one.announced, missing.evidence.announced, std::string())) continue;
    if (contradicts(one.host, missing.evidence.host, std::string())) continue;
    if (out) return std::nullopt;
    out = i;
  }
  return out;
}

}  // namespace rookery::camera
