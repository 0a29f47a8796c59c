#include "sim/printer_scene.h"

#include <cmath>

namespace rookery::sim {
namespace {

constexpr float kPi = 3.14159265F;
// From the print to behind the viewer's shoulder, cm.
constexpr Vec3 kWayOut{34, -40, 10};

// The camera turned by so many degrees: JobEvent::manner says where to.
void turn(Camera& camera, float degrees, int manner) {
  const float a = degrees * kPi / 180 * (manner % 2 == 0 ? 1.0F : -1.0F);
  const Vec3 to = camera.target - camera.eye;
  const float flat = std::hypot(to.x, to.y);
  const Vec3 aside{to.x * std::cos(a) + to.y * std::sin(a), to.y * std::cos(a) - to.x * std::sin(a), to.z};
  const Vec3 up{to.x, to.y, flat * std::tan(std::atan2(to.z, flat) + a)};
  camera.target = camera.eye + (manner < 2 ? aside : up);
}

}  // namespace

PrinterScene::PrinterScene(PrinterWorld made, std::uint64_t seed, Size size, const PrintJob& job)
    : Scene(size),
      p_(std::move(made)),
      seed_(seed),
      layer_seconds_(job.layer_seconds),
      rest_(job.rest_s),
      course_(job),
      view_(p_.world.camera, size),
      object_(p_.kind, p_.home),
      ratio_(static_cast<float>(size.width) / 640) {
  still_ = develop(render(p_.world, size), p_.look);
  head_ = Mover(p_.world, p_.head, p_.home, size, p_.look);
  if (!p_.beam.empty()) beam_ = Mover(p_.world, p_.beam, p_.home, size, p_.look);
  if (!p_.bed.empty()) bed_ = Mover(p_.world, p_.bed, p_.home, size, p_.look);
  hand_ = Mover(p_.world, reaching_hand(grip()), grip(), size, p_.look);
  layers_ = static_cast<int>(object_.height() / kLayerHeight);
  // So that there is something to see from the first moment: a good part of the first print is done.
  begun_ = job.from_start ? 0
                          : (0.18F + 0.35F * hash01(static_cast<std::uint32_t>(seed), 77)) *
                                static_cast<float>(layers_) * layer_seconds_;
  if (!course_.plain()) prepare_mishaps(job);
}

void PrinterScene::prepare_mishaps(const PrintJob& job) {
  constexpr double kEver = 1e12;
  if (const JobEvent* mess = course_.since(Mishap::mess, kEver))
    mess_ = Mess(*mess, seed_, printed_height(progress_at(course_.added(mess->at_s))), object_.reach());
  if (const JobEvent* shift = course_.since(Mishap::layer_shift, kEver)) {
    const float a = 6.28F * hash01(static_cast<std::uint32_t>(seed_), 52);
    step_.step = Vec3{std::cos(a), std::sin(a), 0} * shift->strength;
    step_.step_from = static_cast<float>(progress_at(course_.worked(shift->at_s)).layer) * kLayerHeight;
  }
  if (course_.since(Mishap::reach_in, kEver) != nullptr ||
      course_.since(Mishap::spool_change, kEver) != nullptr)
    arm_ = Mover(p_.world, reaching_hand(grip(), 1.9F), grip(), size(), p_.look);
  if (course_.since(Mishap::walk_by, kEver) != nullptr)
    passer_ = Mover(p_.world, passer_by({0, -14, 10}), {0, -14, 10}, size(), p_.look);
  if (const JobEvent* knock = course_.since(Mishap::knocked, kEver)) {
    PrintJob seen = job;
    std::erase_if(seen.events, [](const JobEvent& event) { return event.what == Mishap::knocked; });
    knocked_from_ = knock->at_s;
    PrinterWorld world = p_;
    turn(world.world.camera, knock->strength, knock->manner);
    elsewhere_ = std::make_unique<PrinterScene>(std::move(world), seed_, size(), seen);
  }
}

void PrinterScene::prepare(SceneTime t) {
  const Now now = now_at(t);
  if (elsewhere_ && now.s >= knocked_from_) return elsewhere_->prepare(t);
  if (now.part.layer < 1 || (cut_layers_ == now.part.layer && cut_pose_ == now.place.pose)) return;
  PrintedObject::Cut cut =
      object_.compute_cut(p_.world, view_, p_.look, p_.plastic, printed_height(now.part), now.place.pose);
  cut_ = Mover(std::move(cut.sprite), cut.corner, p_.home);
  cut_layers_ = now.part.layer;
  cut_pose_ = now.place.pose;
}

void PrinterScene::draw_object(Canvas& canvas, const Now& now) const {
  if (!is_seen(now)) return;
  const Vec3 shift = now.bed + now.place.shift;
  // After the print the finished thing stands for a while, then a hand carries it off.
  const float taken_s = taken(now);
  const float lifted = smooth(kGripSeconds, kTakenSeconds, taken_s);
  const float lying = std::sin(now.place.pose.tilt) * printed_height(now.part) * 0.5F;
  const Vec3 foot =
      view_.project(p_.home + shift +
                    Vec3{std::cos(now.place.pose.toward) * lying, std::sin(now.place.pose.toward) * lying,
                         -std::max(0.0F, now.place.shift.z)});
  const float r = object_.outline(0.5F, 0) * view_.scale(foot.z);
  canvas.shadow({foot.x + r * 0.35F, foot.y + r * 0.05F}, r * 1.75F, r * 0.85F,
                0.55F * (1 - smooth(0, 0.3F, lifted)));
  const Vec3 carried = shift + kWayOut * lifted;
  if (canvas.draws()) {
    cut_.draw_scaled(canvas, view_, p_.home + carried);
  } else {
    // The cut-out at hand may be another moment's.
    canvas.note(object_.region_at(view_, printed_height(now.part), carried, now.place.pose));
  }
  if (taken_s > 0)
    hand_.draw_scaled(canvas, view_,
                      grip() + shift + kWayOut * (1 - smooth(0, kGripSeconds, taken_s) + lifted));
}

void PrinterScene::draw_mess(Canvas& canvas, const Now& now, bool below) const {
  if (now.mess <= 0 || taken(now) >= kTakenSeconds) return;
  const Material& m = p_.plastic;
  const auto shade = [](float linear) { return static_cast<int>(255 * std::pow(clamp01(linear), 1 / 2.2F)); };
  const Ink colour = ink(shade(m.colour.x), shade(m.colour.y), shade(m.colour.z));
  canvas.moving("mess");
  mess_.draw(canvas, view_, p_.home + now.bed, now.mess, colour, below);
  if (!below && !now.head.resting && now.mess < 1)
    mess_.draw_thread(canvas, view_, p_.home + now.bed, now.mess, colour, now.nozzle);
}

void PrinterScene::draw_arms(Canvas& canvas, Vec3 nozzle, bool behind) const {
  constexpr float kArm = 30;
  for (int i = 0; i < 3; ++i) {
    const float a = (static_cast<float>(i) * 120 + 90) * kPi / 180;
    if ((i == 0) != behind) continue;
    const Vec3 post{18.2F * std::cos(a), 27 + 18.2F * std::sin(a), 0};
    const Vec3 inner = nozzle + Vec3{3.2F * std::cos(a), 3.2F * std::sin(a), 4.6F};
    const float dx = post.x - inner.x;
    const float dy = post.y - inner.y;
    const float up = std::sqrt(std::max(1.0F, kArm * kArm - dx * dx - dy * dy));
    const Vec3 side{-1.7F * std::sin(a), 1.7F * std::cos(a), 0};
    const Vec3 top = {post.x, post.y, inner.z + up};
    const Vec3 block = view_.project(top);
    const float s = view_.scale(block.z);
    const Point c{block.x, block.y};
    const Point box[] = {{c.x - 3.2F * s, c.y - 2.2F * s},
                         {c.x + 3.2F * s, c.y - 2.2F * s},
                         {c.x + 3.2F * s, c.y + 2.2F * s},
                         {c.x - 3.2F * s, c.y + 2.2F * s}};
    canvas.shadow({c.x + 2, c.y + 3}, 4.6F * s, 3.6F * s, 0.4F);
    canvas.fill(box, ink(44, 45, 50), 1, -0.9F);
    for (const float sign : {-1.0F, 1.0F}) {
      const Vec3 from = view_.project(top + side * sign);
      const Vec3 to = view_.project(inner + side * sign);
      const float width = 0.62F * s;
      canvas.line({from.x, from.y}, {to.x, to.y}, width, ink(38, 40, 44));
      canvas.line({from.x - width * 0.2F, from.y}, {to.x - width * 0.2F, to.y}, width * 0.3F,
                  ink(150, 152, 158), 0.7F);
      canvas.disc({to.x, to.y}, 0.6F * s, 0.6F * s, ink(170, 172, 178));
    }
  }
}

void PrinterScene::draw_filament(Canvas& canvas, Vec3 nozzle, float t) const {
  const Vec3 a = view_.project(p_.spool);
  const Vec3 c = view_.project(nozzle + Vec3{0, 0.2F, p_.delta ? 8.0F : 10.5F});
  const float lift = (p_.delta ? 120.0F : 40.0F) * ratio_;
  const Point b{(a.x + c.x) * 0.5F + 3 * std::sin(t * 0.9F), std::min(a.y, c.y) - lift * 0.35F};
  Point last{a.x, a.y};
  const Ink tone = scaled(p_.delta ? ink(214, 208, 192) : ink(230, 232, 232), 0.85F);
  for (int i = 1; i <= 14; ++i) {
    const float u = static_cast<float>(i) / 14;
    const Point next{(1 - u) * (1 - u) * a.x + 2 * u * (1 - u) * b.x + u * u * c.x,
                     (1 - u) * (1 - u) * a.y + 2 * u * (1 - u) * b.y + u * u * c.y};
    canvas.line(last, next, 1.7F * ratio_, tone, 0.85F);
    last = next;
  }
}

void PrinterScene::draw_people(Canvas& canvas, double s) const {
  canvas.moving("hand");
  if (const float in = hand_at(s); in > 0)
    arm_.draw_scaled(canvas, view_, hand_place(s) + kWayOut * (1 - in));
  if (const JobEvent* walk = course_.at(Mishap::walk_by, s)) {
    canvas.moving("passer-by");
    const float u = static_cast<float>((s - walk->at_s) / walk->length_s);
    const float way = walk->manner % 2 == 0 ? 2 * u - 1 : 1 - 2 * u;
    passer_.draw(canvas, view_, Vec3{62 * way, -14, 10 + 0.8F * std::sin(static_cast<float>(s) * 6)});
  }
}

void PrinterScene::paint(Canvas& canvas, SceneTime t) const {
  const Now now = now_at(t);
  if (elsewhere_ && now.s >= knocked_from_) return elsewhere_->paint(canvas, t);
  const Progress& head = now.head;
  const Vec3 nozzle = now.nozzle;
  canvas.restore(still_);
  const auto moves = [&](std::string_view what) { canvas.moving(now.still ? "" : what); };
  moves("bed");
  if (!bed_.empty()) bed_.draw(canvas, view_, p_.home + now.bed);
  moves("arms");
  if (p_.delta) draw_arms(canvas, nozzle, true);
  draw_mess(canvas, now, true);
  const auto draw_part = [&] {
    canvas.moving(taken(now) >= 0 ? "taking off" : now.still ? "" : "part");
    draw_object(canvas, now);
    draw_mess(canvas, now, false);
  };
  // What lies on the bench is before the machine.
  const bool on_bench = now.place.shift.z < -1;
  if (!on_bench) draw_part();
  moves("head");
  const Vec3 under =
      view_.project({nozzle.x, nozzle.y, p_.home.z + static_cast<float>(head.layer) * kLayerHeight});
  const float s_px = view_.scale(under.z);
  if (!head.resting) canvas.shadow({under.x, under.y + 2}, 5 * s_px, 2.2F * s_px, 0.35F);
  Vec3 rail = p_.home + Vec3{0, 0, nozzle.z - p_.home.z};
  if (p_.beam_follows_y) rail.y = nozzle.y;
  if (!beam_.empty()) beam_.draw(canvas, view_, rail);
  canvas.moving("filament");
  draw_filament(canvas, nozzle, seconds(t));
  moves("head");
  head_.draw(canvas, view_, nozzle);
  moves("arms");
  if (p_.delta) draw_arms(canvas, nozzle, false);
  moves("head");
  if (!head.resting) canvas.glow({under.x, under.y}, 1.6F * s_px, 1.2F * s_px, ink(255, 190, 110), 0.35F);
  if (course_.plain()) return;
  if (on_bench) draw_part();
  draw_people(canvas, now.s);
  if (canvas.draws()) apply_light_and_lens(canvas.picture(), course_, seed_, now.s);
}

std::unique_ptr<Scene> make_printer(std::string_view name, std::uint64_t seed, Size size,
                                    const PrintJob& job) {
  PrinterWorld world = name == "anvil" ? anvil_world() : name == "bobbin" ? bobbin_world() : cog_world();
  if (job.kind) world.kind = *job.kind;
  return std::make_unique<PrinterScene>(std::move(world), seed, size, job);
}

}  // namespace rookery::sim
