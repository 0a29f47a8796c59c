// A filament printer at work: the head lays the current layer, the body grows, the print ends, the next
// begins.
#include "sim/printer_worlds.h"

namespace rookery::sim {
namespace {

constexpr float kPi = 3.14159265F;
// Real layers are thinner and slower, but a minute of watching has to show growth: PrintJob.
constexpr float kLayerHeight = 0.14F;
constexpr float kParkSeconds = 2.5F;    // at the beginning of the rest, on the way to its corner
constexpr float kReturnSeconds = 3;     // at its end, on the way back
constexpr float kTakenAt = 30;          // into the rest a hand comes for the print,
constexpr float kGripSeconds = 1.6F;    // reaches it,
constexpr float kTakenSeconds = 3.4F;   // and is gone with it after so long in all
constexpr float kPushedSeconds = 2.5F;  // a part that came off is pushed aside
constexpr double kStrandSeconds = 9;    // from one strand of a mess to the next
constexpr int kMostStrands = 160;

// From the print to behind the viewer's shoulder, cm.
constexpr Vec3 kWayOut{34, -40, 10};

struct Progress {
  std::int64_t print = 0;  // which print
  int layer = 0;           // whole layers done
  float into = 0;          // seconds into the next
  bool resting = false;
  float rest = 0;  // seconds of rest so far
};

class PrinterScene final : public Scene {
 public:
  PrinterScene(PrinterWorld made, std::uint64_t seed, Size size, const PrintJob& job)
      : Scene(size),
        p_(std::move(made)),
        layer_seconds_(job.layer_seconds),
        rest_seconds_(job.rest_seconds),
        job_(job),
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
  }

  void prepare(SceneTime t) override;
  void paint(Canvas& canvas, SceneTime t) const override;
  std::vector<Motion> happenings(SceneTime until) const override;
  std::optional<JobTruth> job_at(SceneTime t) const override;

 private:
  Progress progress_at(double seconds) const;
  Vec3 nozzle_at(const Progress& progress) const;
  void draw_arms(Canvas& canvas, Vec3 nozzle, bool behind) const;
  void draw_filament(Canvas& canvas, Vec3 nozzle, float t) const;
  void draw_object(Canvas& canvas, const Progress& progress, Vec3 shift) const;
  // Where a hand takes hold of the finished print.
  Vec3 grip() const {
    return p_.home + Vec3{0, -object_.outline(object_.height() * 0.7F, 0), object_.height() * 0.7F};
  }
  // What stands on the bed: less than the head's way when nothing of it came to the part any more.
  Progress made_at(double s) const {
    Progress made = progress_at(s);
    for (const auto& ends : {job_.dry_at_s, job_.mess_at_s}) {
      if (!ends || s < *ends) continue;
      const Progress then = progress_at(*ends);
      if (then.print == made.print) made.layer = std::min(made.layer, then.layer);
    }
    return made;
  }
  // How far the part was pushed at that moment, cm.
  Vec3 pushed_at(double s) const {
    if (!job_.detached_at_s || s < *job_.detached_at_s) return {};
    if (progress_at(s).print != progress_at(*job_.detached_at_s).print) return {};
    return Vec3{4.2F, -1.5F, 0} * smooth(0, kPushedSeconds, static_cast<float>(s - *job_.detached_at_s));
  }
  void draw_mess(Canvas& canvas, double s, Vec3 shift) const;
  static float printed_height(const Progress& now) {
    return std::max(0.3F, static_cast<float>(now.layer) * kLayerHeight);
  }
  double print_seconds() const { return static_cast<double>(layers_) * static_cast<double>(layer_seconds_); }

  PrinterWorld p_;
  float layer_seconds_;
  float rest_seconds_;
  PrintJob job_;
  Projection view_;
  PrintedObject object_;
  float ratio_;
  Picture still_;
  Mover head_;
  Mover beam_;
  Mover bed_;
  Mover hand_;
  int layers_ = 1;
  float begun_ = 0;
  int cut_layers_ = -1;
  Mover cut_;
};

Progress PrinterScene::progress_at(double s) const {
  const double whole = print_seconds() + static_cast<double>(rest_seconds_);
  const double at = s + begun_;
  Progress progress;
  progress.print = static_cast<std::int64_t>(at / whole);
  const double in = at - static_cast<double>(progress.print) * whole;
  progress.resting = in >= print_seconds();
  progress.rest = static_cast<float>(in - print_seconds());
  progress.layer = std::min(layers_, static_cast<int>(in / static_cast<double>(layer_seconds_)));
  progress.into = static_cast<float>(in - progress.layer * static_cast<double>(layer_seconds_));
  return progress;
}

// Round the outline twice, then to and fro across it, then a short lift to the next layer.
Vec3 PrinterScene::nozzle_at(const Progress& now) const {
  const float z = static_cast<float>(now.layer) * kLayerHeight;
  if (now.resting) {
    const float away = smooth(0, kParkSeconds, now.rest);
    const Vec3 parked{-11 * away, (p_.delta ? -4.0F : 2.0F) * away, std::min(z + 5 * away, 24.0F)};
    const Vec3 next{object_.outline(0, 0) - 0.2F, 0, 0};
    return p_.home + mix(parked, next, smooth(rest_seconds_ - kReturnSeconds, rest_seconds_, now.rest));
  }
  const float u = now.into / layer_seconds_;
  const float turn = static_cast<float>(now.layer) * 0.7F;
  if (u < 0.55F) {
    const float a = turn + u / 0.55F * 4 * kPi;
    const float r = object_.outline(z, a) - (u < 0.27F ? 0.2F : 0.65F);
    return p_.home + Vec3{r * std::cos(a), r * std::sin(a), z};
  }
  if (u < 0.95F) {
    const float v = (u - 0.55F) / 0.4F;
    const float reach = object_.outline(z, 0) * 0.85F;
    const float across = (2 * v - 1) * reach;
    const float wide = std::sqrt(std::max(0.0F, reach * reach - across * across));
    const float saw = std::fabs(std::fmod(v * 9, 2.0F) - 1) * 2 - 1;
    const float a = (now.layer % 2 == 0 ? 0.785F : -0.785F);
    const Vec3 flat{across * std::cos(a) - wide * saw * std::sin(a),
                    across * std::sin(a) + wide * saw * std::cos(a), z};
    return p_.home + flat;
  }
  return p_.home + Vec3{object_.outline(z, turn) * std::cos(turn + 0.7F),
                        object_.outline(z, turn) * std::sin(turn + 0.7F),
                        z + 0.8F * std::sin((u - 0.95F) / 0.05F * kPi)};
}

void PrinterScene::prepare(SceneTime t) {
  const Progress now = made_at(static_cast<double>(t.count()) * 1e-6);
  if (now.layer < 1 || cut_layers_ == now.layer) return;
  PrintedObject::Cut cut = object_.compute_cut(p_.world, view_, p_.look, p_.plastic, printed_height(now));
  cut_ = Mover(std::move(cut.sprite), cut.corner, p_.home);
  cut_layers_ = now.layer;
}

void PrinterScene::draw_object(Canvas& canvas, const Progress& now, Vec3 shift) const {
  if (now.layer < 1) return;
  // After the print the finished thing stands for a while, then a hand carries it off.
  const float taken = now.resting ? now.rest - kTakenAt : -1;
  if (taken >= kTakenSeconds) return;
  const float lifted = smooth(kGripSeconds, kTakenSeconds, taken);
  const Vec3 foot = view_.project(p_.home + shift);
  const float r = object_.outline(0.5F, 0) * view_.scale(foot.z);
  canvas.shadow({foot.x + r * 0.35F, foot.y + r * 0.05F}, r * 1.75F, r * 0.85F,
                0.55F * (1 - smooth(0, 0.3F, lifted)));
  const Vec3 carried = shift + kWayOut * lifted;
  if (canvas.draws()) {
    cut_.draw_scaled(canvas, view_, p_.home + carried);
  } else {
    // The cut-out at hand may be another moment's.
    canvas.note(object_.region_at(view_, printed_height(now), carried));
  }
  if (taken > 0)
    hand_.draw_scaled(canvas, view_,
                      grip() + shift + kWayOut * (1 - smooth(0, kGripSeconds, taken) + lifted));
}

// Loops of filament that hang together, each from where the head was to somewhere beside the part.
void PrinterScene::draw_mess(Canvas& canvas, double s, Vec3 shift) const {
  if (!job_.mess_at_s || s < *job_.mess_at_s) return;
  if (progress_at(s).print != progress_at(*job_.mess_at_s).print) return;
  const int strands = std::min(kMostStrands, 1 + static_cast<int>((s - *job_.mess_at_s) / kStrandSeconds));
  const float height = printed_height(made_at(s));
  canvas.moving("mess");
  for (int i = 0; i < strands; ++i) {
    const auto dice = [i](std::uint32_t k) { return hash01(static_cast<std::uint32_t>(i) * 31 + 7, k); };
    // The heap grows outwards and up.
    const float out = 2 + 7 * std::sqrt(static_cast<float>(i + 1) / kMostStrands);
    const float a = dice(1) * 2 * kPi;
    const Vec3 middle =
        p_.home + shift + Vec3{out * std::cos(a), out * std::sin(a) - 2, height * (0.15F + 0.8F * dice(2))};
    Point last{};
    for (int k = 0; k <= 16; ++k) {
      const float u = static_cast<float>(k) / 16;
      const float turn = u * kPi * (2 + 3 * dice(3)) + dice(4) * 6;
      const float r = 0.8F + 2.2F * dice(5) * (1 - 0.5F * u);
      const Vec3 at = view_.project(middle + Vec3{r * std::cos(turn), r * std::sin(turn) * 0.8F,
                                                  1.6F * std::sin(turn * 1.7F + dice(6) * 6) - 1.2F * u});
      const Point next{at.x, at.y};
      const float bright = 0.75F + 0.3F * dice(7);
      if (k > 0) canvas.line(last, next, 1.8F * ratio_, scaled(ink(214, 190, 150), bright), 0.92F);
      last = next;
    }
  }
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

void PrinterScene::paint(Canvas& canvas, SceneTime t) const {
  const double s = static_cast<double>(t.count()) * 1e-6;
  const Progress now = progress_at(s);
  Vec3 nozzle = nozzle_at(now);
  canvas.restore(still_);
  const bool parked = now.resting && now.rest > kParkSeconds && now.rest < rest_seconds_ - kReturnSeconds;
  const auto moves = [&](std::string_view what) { canvas.moving(parked ? "" : what); };
  moves("bed");
  // On a machine whose bed slides, the bed and the print move instead of the head.
  Vec3 shift{};
  if (!bed_.empty()) {
    shift.y = -(nozzle.y - p_.home.y);
    nozzle.y = p_.home.y;
    bed_.draw(canvas, view_, p_.home + shift);
  }
  moves("arms");
  if (p_.delta) draw_arms(canvas, nozzle, true);
  const bool taken = now.resting && now.rest >= kTakenAt;
  canvas.moving(taken ? "taking off" : parked ? "" : "part");
  draw_object(canvas, made_at(s), shift + pushed_at(s));
  draw_mess(canvas, s, shift);
  moves("head");
  const Vec3 under =
      view_.project({nozzle.x, nozzle.y, p_.home.z + static_cast<float>(now.layer) * kLayerHeight});
  const float s_px = view_.scale(under.z);
  if (!now.resting) canvas.shadow({under.x, under.y + 2}, 5 * s_px, 2.2F * s_px, 0.35F);
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
  if (!now.resting) canvas.glow({under.x, under.y}, 1.6F * s_px, 1.2F * s_px, ink(255, 190, 110), 0.35F);
}

std::optional<JobTruth> PrinterScene::job_at(SceneTime t) const {
  const Progress now = progress_at(static_cast<double>(t.count()) * 1e-6);
  const Vec3 nozzle = nozzle_at(now);
  Vec3 head = nozzle;
  Vec3 foot = p_.home;
  if (!p_.bed.empty()) {
    foot.y -= nozzle.y - p_.home.y;
    head.y = p_.home.y;
  }
  const Vec3 at = view_.project(head);
  const Vec3 standing = view_.project(foot);
  return JobTruth{
      .number = now.print,
      .under_way = !now.resting,
      .grown = static_cast<double>(static_cast<float>(made_at(static_cast<double>(t.count()) * 1e-6).layer) *
                                   kLayerHeight),
      .head = Point{at.x, at.y},
      .foot = Point{standing.x, standing.y}};
}

std::vector<Motion> PrinterScene::happenings(SceneTime until) const {
  // The filament sways with the air even while nothing is printed.
  std::vector<Motion> all{Motion{SceneTime{}, until, TruthKind::ambient, "filament", {}}};
  const auto add = [&](double from, double to, TruthKind kind, std::string_view what) {
    if (to > 0) all.push_back(Motion{scene_seconds(std::max(0.0, from)), scene_seconds(to), kind, what, {}});
  };
  const double whole = print_seconds() + static_cast<double>(rest_seconds_);
  for (std::int64_t i = 0;; ++i) {
    const double begin = static_cast<double>(i) * whole - begun_;
    const double end = begin + print_seconds();
    if (scene_seconds(begin - kReturnSeconds) >= until) return all;
    add(begin - kReturnSeconds, end + kParkSeconds, TruthKind::job, "head");
    if (!bed_.empty()) add(begin - kReturnSeconds, end + kParkSeconds, TruthKind::job, "bed");
    if (p_.delta) add(begin - kReturnSeconds, end + kParkSeconds, TruthKind::job, "arms");
    add(begin, end + kParkSeconds, TruthKind::job, "part");
    add(end + kTakenAt, end + kTakenAt + kTakenSeconds, TruthKind::wanted, "taking off");
  }
}

}  // namespace

std::unique_ptr<Scene> make_printer(std::string_view name, std::uint64_t seed, Size size,
                                    const PrintJob& job) {
  PrinterWorld world = name == "anvil" ? anvil_world() : name == "bobbin" ? bobbin_world() : cog_world();
  if (job.kind) world.kind = *job.kind;
  return std::make_unique<PrinterScene>(std::move(world), seed, size, job);
}

}  // namespace rookery::sim
