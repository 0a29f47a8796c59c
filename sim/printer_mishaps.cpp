#include "sim/printer_mishaps.h"

#include "sim/picture_faults.h"

namespace rookery::sim {
namespace {

constexpr float kPi = 3.14159265F;
constexpr double kPushEvery = 25;  // seconds of work between two pushes of the head
constexpr int kMostPushes = 8;

struct Pushes {
  Vec3 shift{};
  float yaw = 0;
};

// The head goes on working where the part stood and pushes what lies in its way.
Pushes pushes(std::uint32_t seed, double worked_s) {
  Pushes all;
  for (int i = 0; i < kMostPushes; ++i) {
    const auto k = static_cast<std::uint32_t>(i) * 3;
    const double at = kPushEvery * (i + 0.4 + 0.6 * static_cast<double>(hash01(seed, k + 100)));
    const float done = smooth(0, 0.8F, static_cast<float>(worked_s - at));
    const float a = 2 * kPi * hash01(seed, k + 101);
    const float by = 0.3F + 0.9F * hash01(seed, k + 102);
    all.shift += Vec3{by * std::cos(a), by * 0.6F * std::sin(a), 0} * done;
    all.yaw += (hash01(seed, k + 103) - 0.5F) * 0.5F * done;
  }
  return all;
}

float ease(double s, float length) { return smooth(0, length, static_cast<float>(s)); }

PartPlace slid(const JobEvent& event, std::uint32_t seed, const ComingOffNow& now) {
  const float a = (hash01(seed, 1) - 0.5F) * 1.4F + (hash01(seed, 2) < 0.5F ? kPi : 0);
  const float p = ease(now.since_s, 1.2F);
  const Pushes more = pushes(seed, now.worked_s);
  PartPlace place;
  place.shift = Vec3{std::cos(a), std::sin(a), 0} * (4.5F * event.strength * p) + more.shift;
  place.pose.yaw = (hash01(seed, 3) - 0.5F) * 1.6F * p + more.yaw;
  return place;
}

// It leans further and further and lies, away from or towards one side of the picture.
PartPlace tipped(const JobEvent& event, std::uint32_t seed, const ComingOffNow& now, Vec3 to) {
  const float fallen = std::min(1.0F, static_cast<float>(now.since_s) / 0.7F);
  const Pushes more = pushes(seed, now.worked_s);
  PartPlace place;
  place.pose.toward = (hash01(seed, 1) - 0.5F) * 1.8F + (hash01(seed, 2) < 0.5F ? kPi : 0);
  place.pose.tilt = 0.5F * kPi * fallen * fallen;
  const Vec3 away{std::cos(place.pose.toward), std::sin(place.pose.toward), 0};
  place.shift = away * (1.5F * event.strength * fallen) + to * fallen + more.shift;
  return place;
}

}  // namespace

PartPlace place_of(const JobEvent& event, std::uint64_t seed64, const ComingOffNow& now) {
  const std::uint32_t seed = hash32(static_cast<std::uint32_t>(seed64), 4'711);
  switch (static_cast<ComingOff>(event.manner)) {
    case ComingOff::slides:
      break;
    case ComingOff::tips:
      return tipped(event, seed, now, {});
    case ComingOff::dragged:
      return {{now.nozzle.x, now.nozzle.y, std::max(0.0F, now.nozzle.z)}, {}};
    case ComingOff::stays_behind:
      if (now.bed_slides) return {{0, now.nozzle.y, 0}, {}};
      break;
    case ComingOff::flung: {
      PartPlace place = tipped(event, seed, now, now.bench);
      place.pose.yaw = 0.8F * hash01(seed, 5);
      if (now.bed_slides) place.shift.y += now.nozzle.y;  // the bench does not
      return place;
    }
    case ComingOff::leans: {
      const float p = ease(now.since_s, 2);
      PartPlace place;
      place.pose.toward = 2 * kPi * hash01(seed, 1);
      place.pose.tilt = 0.34F * std::min(1.2F, event.strength) * p;
      place.pose.yaw = 0.3F * p;
      place.shift =
          Vec3{std::cos(place.pose.toward), std::sin(place.pose.toward), 0} * (1.8F * event.strength * p);
      return place;
    }
  }
  return slid(event, seed, now);
}

float mess_amount(const JobEvent& event, double into_s) {
  if (into_s <= 0) return 0;
  const double all = event.length_s > 0 ? event.length_s : 1'200;
  return static_cast<float>(std::min(1.0, into_s / all));
}

std::vector<Solid> passer_by(Vec3 place) {
  const Material coat = paint(38, 44, 58, 0.05F);
  const Material skin = paint(196, 150, 120, 0.1F);
  const auto p = [&](float x, float y, float z) { return place + Vec3{x, y, z}; };
  return {ellipsoid(p(0, 0, 4), {13, 8, 26}, coat),
          capsule(p(-12, 0, 18), p(-15, -3, -10), 3.8F, coat),
          capsule(p(12, 0, 18), p(15, 3, -10), 3.8F, coat),
          capsule(p(0, 0, 26), p(0, 0, 33), 4, skin),
          ellipsoid(p(0, 0, 39), {6, 7, 8}, skin),
          ellipsoid(p(0, 1.5F, 41), {6.6F, 7, 8}, paint(54, 40, 30, 0.05F))};
}

float reaching(double into_s, double length_s) {
  return ease(into_s, 1.6F) * (1 - ease(into_s - length_s + 1.6, 1.6F));
}

namespace {

// Factor of luma at a place of the picture.
class LightNow {
 public:
  LightNow(const JobCourse& course, std::uint64_t seed, double s) {
    if (course.at(Mishap::lamp_off, s) != nullptr) lamp_ = 0;
    if (const JobEvent* day = course.at(Mishap::daylight, s))
      day_ = day->strength * ease(s - day->at_s, 60) *
             (2 * noise1(static_cast<float>(s / 600), static_cast<std::uint32_t>(seed) + 9) - 1);
    if (const JobEvent* step = course.at(Mishap::exposure, s))
      exposure_ = mix(1.0F, step->strength, ease(s - step->at_s, 1.5F));
  }
  bool plain() const { return lamp_ == 1 && day_ == 0 && exposure_ == 1; }
  float at(float u, float v) const {
    const float dim = lamp_ == 1 ? 1.0F : 0.12F + 0.2F * u * (1 - 0.4F * v);
    return dim * (1 + day_ * (0.3F + 0.7F * u)) * exposure_;
  }

 private:
  float lamp_ = 1;
  float day_ = 0;
  float exposure_ = 1;
};

std::uint8_t byte_of(float v) { return static_cast<std::uint8_t>(std::clamp(v + 0.5F, 0.0F, 255.0F)); }

void relight(Picture& p, const LightNow& light) {
  constexpr int kBlock = 8;
  for (int y = 0; y < p.size.height; ++y) {
    for (int from = 0; from < p.size.width; from += kBlock) {
      const float f = light.at(static_cast<float>(from + kBlock / 2) / static_cast<float>(p.size.width),
                               static_cast<float>(y) / static_cast<float>(p.size.height));
      for (int x = from; x < std::min(p.size.width, from + kBlock); ++x) {
        std::uint8_t& luma = p.y[static_cast<std::size_t>(y * p.size.width + x)];
        luma = byte_of(static_cast<float>(luma) * f);
        if (x % 2 != 0) continue;
        const auto half = static_cast<std::size_t>(y * p.half() + x / 2);
        const float strength = std::min(1.0F, f);
        p.u[half] = byte_of(128 + (static_cast<float>(p.u[half]) - 128) * strength);
        p.v[half] = byte_of(128 + (static_cast<float>(p.v[half]) - 128) * strength);
      }
    }
  }
}

// A cloth or a cap: nearly black, a little light at one edge.
void cover_lens(Picture& p, double since_s) {
  const float left = 1 - ease(since_s, 0.8F);
  for (int y = 0; y < p.size.height; ++y) {
    for (int x = 0; x < p.size.width; ++x) {
      const float u = static_cast<float>(x) / static_cast<float>(p.size.width);
      std::uint8_t& luma = p.y[static_cast<std::size_t>(y * p.size.width + x)];
      luma = byte_of(mix(9 + 14 * smooth(0.7F, 1, u), static_cast<float>(luma), left));
      if (x % 2 != 0) continue;
      const auto half = static_cast<std::size_t>(y * p.half() + x / 2);
      p.u[half] = byte_of(mix(126, static_cast<float>(p.u[half]), left));
      p.v[half] = byte_of(mix(132, static_cast<float>(p.v[half]), left));
    }
  }
}

}  // namespace

void apply_light_and_lens(Picture& picture, const JobCourse& course, std::uint64_t seed, double s) {
  if (const LightNow light(course, seed, s); !light.plain()) relight(picture, light);
  if (const JobEvent* soft = course.at(Mishap::unsharp, s))
    blur(picture, static_cast<double>(soft->strength));
  if (const JobEvent* cover = course.at(Mishap::covered, s)) cover_lens(picture, s - cover->at_s);
}

}  // namespace rookery::sim
