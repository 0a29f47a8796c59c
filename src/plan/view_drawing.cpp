// The subject "view": camera, cone and target, from the side and from above, to one scale.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "plan/svg.h"
#include "plan/view_plan.h"

namespace rookery::plan {
namespace {

using Shape = std::vector<Point>;  // in metres, x to the right, y up, until placed

constexpr double kWidth = 620;
constexpr double kPanelWidth = 290;
constexpr double kPanelHeight = 240;
constexpr double kPanelTop = 30;
constexpr double kGap = 20;
// Around the shapes: room for the camera's body, and for the measures at the left and below.
constexpr double kMargin = 16;
constexpr double kMeasure = 66;
constexpr double kMeasureBelow = 34;
constexpr double kLeastTilt = 0.5;    // degrees; less is not to be seen
constexpr double kRoomForWords = 60;  // a measure is drawn where its words fit

// The part of a shape on the side of a line where `inside` is not negative.
template <class Inside>
Shape clipped(const Shape& shape, Inside inside) {
  Shape out;
  for (std::size_t i = 0; i < shape.size(); ++i) {
    const Point& a = shape[i];
    const Point& b = shape[(i + 1) % shape.size()];
    const double at_a = inside(a);
    const double at_b = inside(b);
    if (at_a >= 0) out.push_back(a);
    if ((at_a < 0) != (at_b < 0)) {
      const double share = at_a / (at_a - at_b);
      out.push_back({a.x + share * (b.x - a.x), a.y + share * (b.y - a.y)});
    }
  }
  return out;
}

struct Box {
  Point low{1e300, 1e300};
  Point high{-1e300, -1e300};

  void take(const Shape& shape) {
    for (const Point& point : shape) {
      low = {std::min(low.x, point.x), std::min(low.y, point.y)};
      high = {std::max(high.x, point.x), std::max(high.y, point.y)};
    }
  }
  double width() const { return high.x - low.x; }
  double height() const { return high.y - low.y; }
};

// One of the two views, in metres.
struct Scene {
  Point camera{};
  Point looks{1, 0};  // the direction of the axis; nothing of it where it points into the paper
  Shape cone;
  Shape sharp;               // what of it is in focus; empty when nothing that is drawn
  std::vector<Shape> edges;  // lines: of the sharp part, and from the camera to what it sees
  Shape target;
  Point middle{};  // where the axis meets the target

  Box box() const {
    Box box;
    for (const Shape* shape : {&cone, &target}) box.take(*shape);
    box.take({camera, middle});
    return box;
  }
};

// What both scenes are drawn from, as plain numbers in metres.
struct Measures {
  bool bed = false;
  double distance;
  double sine;
  double cosine;
  double half_up;      // tangent of half the angle of view
  double half_across;  // the same from left to right
  double near_along;   // of the visible part of the target
  double far_along;    // clipped to what is drawn
  double end;          // depth that the drawing reaches to
  double sharp_near;
  double sharp_far;

  explicit Measures(const ViewPlan& plan)
      : bed(plan.bed.has_value()),
        distance(plan.target.distance.value()),
        sine(std::sin(plan.target.tilt.radians())),
        cosine(std::cos(plan.target.tilt.radians())),
        half_up((plan.picture.height() / (2.0 * plan.focal)).value()),
        half_across((plan.picture.width() / (2.0 * plan.focal)).value()),
        near_along(plan.visible.near.value()),
        far_along(near_along),
        end(distance),
        sharp_near(plan.sharp.near.value()),
        sharp_far(1e300) {
    if (plan.sharp.far) sharp_far = plan.sharp.far->value();
    const double seen = plan.visible.far ? plan.target.depth_at(*plan.visible.far).value() : 1e300;
    const double most = 1.6 * std::max(distance, plan.far_depth.value());
    // A bed is looked at to its end; elsewhere what is sharp behind the target is of interest too.
    end = bed ? std::min(seen, most) : std::clamp(std::max(1.08 * sharp_far, seen), 1.2 * distance, most);
    far_along = plan.visible.far ? plan.visible.far->value() : 1e300;
    if (sine > 1e-9) far_along = std::min(far_along, (end - distance) / sine);
  }
  double depth(double along) const { return distance + along * sine; }
  bool any_sharp() const { return sharp_near < end && sharp_far > sharp_near; }
};

// From the side. A camera over a bed is drawn as it stands, the bed level; else the axis is level.
Scene side_of(const ViewPlan& plan) {
  const Measures m(plan);
  const auto place = [&](double depth, double up) {
    if (!m.bed) return Point{depth, up};
    return Point{(depth - m.distance) * m.sine + up * m.cosine,
                 (m.distance - depth) * m.cosine + up * m.sine};
  };
  const auto along = [&](double u) { return place(m.depth(u), u * m.cosine); };
  const auto above_bed = [&](const Point& point) { return m.bed ? point.y + 1e-12 : 1.0; };
  Scene scene;
  scene.camera = place(0, 0);
  scene.middle = along(0);
  scene.looks = m.bed ? Point{m.sine, -m.cosine} : Point{1, 0};
  // Far enough for the bed to cut it, where there is one.
  const double reach = m.end * (m.bed && !plan.visible.far ? 1 : 1.0001);
  scene.cone = clipped(Shape{place(0, 0), place(reach, reach * m.half_up), place(reach, -reach * m.half_up)},
                       above_bed);
  if (m.any_sharp()) {
    const double from = m.sharp_near;
    const double to = std::min(m.sharp_far, reach);
    scene.sharp = clipped(Shape{place(from, from * m.half_up), place(to, to * m.half_up),
                                place(to, -to * m.half_up), place(from, -from * m.half_up)},
                          above_bed);
  }
  if (m.bed) {
    const double half = plan.bed->depth.value() / 2;
    scene.target = {along(-half), along(half)};
    scene.edges.push_back({along(m.near_along), along(m.far_along)});
  } else {
    scene.target = {along(m.near_along), along(m.far_along)};
  }
  return scene;
}

// From above; of a bed really from above, else square to the picture's upright.
Scene top_of(const ViewPlan& plan) {
  const Measures m(plan);
  Scene scene;
  const auto part = [&](double from, double to) {  // of the bed's plane, between two places along it
    const double a = m.depth(from) * m.half_across;
    const double b = m.depth(to) * m.half_across;
    return Shape{{from, a}, {to, b}, {to, -b}, {from, -a}};
  };
  if (m.bed) {
    scene.camera = {-m.distance * m.sine, 0};
    scene.looks = {m.sine, 0};
    scene.cone = part(m.near_along, m.far_along);
    const double width = plan.bed->width.value() / 2;
    const double depth = plan.bed->depth.value() / 2;
    scene.target = {{-depth, width}, {depth, width}, {depth, -width}, {-depth, -width}};
    for (const Point& corner : scene.cone) scene.edges.push_back({scene.camera, corner});
    scene.sharp = clipped(scene.cone, [&](const Point& p) { return m.depth(p.x) - m.sharp_near; });
    scene.sharp = clipped(scene.sharp, [&](const Point& p) { return m.sharp_far - m.depth(p.x); });
    return scene;
  }
  const auto slice = [&](double from, double to) {
    return Shape{{from, from * m.half_across},
                 {to, to * m.half_across},
                 {to, -to * m.half_across},
                 {from, -from * m.half_across}};
  };
  scene.middle = {m.distance, 0};
  scene.cone = {{0, 0}, {m.end, m.end * m.half_across}, {m.end, -m.end * m.half_across}};
  if (m.any_sharp()) scene.sharp = slice(m.sharp_near, std::min(m.sharp_far, m.end));
  if (m.sine > 1e-9) {
    scene.target = slice(m.depth(m.near_along), m.depth(m.far_along));
  } else {
    scene.target = {{m.distance, m.distance * m.half_across}, {m.distance, -m.distance * m.half_across}};
  }
  return scene;
}

// Metres of a scene to the drawing's px.
struct Placing {
  double scale = 1;
  Point origin{};  // px of the scene's (0, 0)

  Point operator()(const Point& point) const {
    return {origin.x + point.x * scale, origin.y - point.y * scale};
  }
  Shape operator()(const Shape& shape) const {
    Shape out;
    for (const Point& point : shape) out.push_back((*this)(point));
    return out;
  }
};

struct Room {
  double left;
  double width;
};

double scale_for(const Box& box, const Room& room) {
  const double height = kPanelHeight - kMargin - kMeasureBelow;
  return std::min(room.width / std::max(box.width(), 1e-9), height / std::max(box.height(), 1e-9));
}

Placing place_in(const Box& box, const Room& room, double scale) {
  const double height = kPanelHeight - kMargin - kMeasureBelow;
  const double left = room.left + (room.width - box.width() * scale) / 2;
  const double top = kPanelTop + kMargin + (height - box.height() * scale) / 2;
  return {scale, {left - box.low.x * scale, top + box.high.y * scale}};
}

void draw_camera(Svg& svg, const Scene& scene, const Placing& placed) {
  const Point at = placed(scene.camera);
  const double length = std::hypot(scene.looks.x, scene.looks.y);
  if (length < 0.3) {  // it looks into the paper
    svg.rect({at.x - 7, at.y - 7}, 14, 14, Ink::line, Ink::paper, 2).circle(at, 3, Ink::line, Ink::line);
    return;
  }
  const Point ahead{scene.looks.x / length, -scene.looks.y / length};
  const Point across{-ahead.y, ahead.x};
  const auto body = [&](double back, double side) {
    return Point{at.x - back * ahead.x + side * across.x, at.y - back * ahead.y + side * across.y};
  };
  svg.polygon(
      {body(0, -3), body(4, -3), body(4, -7), body(13, -7), body(13, 7), body(4, 7), body(4, 3), body(0, 3)},
      Ink::line, Ink::paper);
}

void draw_scene(Svg& svg, const Scene& scene, const Placing& placed, Ink target) {
  if (scene.sharp.size() > 2) svg.polygon(placed(scene.sharp), Ink::none, Ink::wash);
  for (const Shape& edge : scene.edges) svg.line(placed(edge[0]), placed(edge[1]), Ink::soft, 1);
  svg.polygon(placed(scene.cone), Ink::soft, Ink::none);
  if (scene.sharp.size() > 2) {
    Shape outline = placed(scene.sharp);
    outline.push_back(outline.front());
    svg.polyline(outline, Ink::trace, 1);
  }
  svg.line(placed(scene.camera), placed(scene.middle), Ink::soft, 1, true);
  if (scene.target.size() == 2) {
    svg.line(placed(scene.target[0]), placed(scene.target[1]), target, 3.5);
  } else {
    Shape outline = placed(scene.target);
    outline.push_back(outline.front());
    svg.polyline(outline, target, 2.5);
  }
  draw_camera(svg, scene, placed);
}

// The angle between the axis and the target's upright, at its middle. Its words stand below, where no line of
// the cone runs through them.
void draw_tilt(Svg& svg, const ViewPlan& plan, const Scene& scene, const Placing& placed) {
  if (plan.target.tilt.degrees < kLeastTilt) return;
  const Point at = placed(scene.middle);
  const Point camera = placed(scene.camera);
  const double reach = std::min(44.0, 0.6 * std::hypot(camera.x - at.x, camera.y - at.y));
  const double to_camera = std::atan2(camera.y - at.y, camera.x - at.x);
  const double upright = to_camera + plan.target.tilt.radians();
  const auto point = [&](double angle, double radius) {
    return Point{at.x + radius * std::cos(angle), at.y + radius * std::sin(angle)};
  };
  svg.line(at, point(upright, reach + 8), Ink::accent, 1, true);
  Shape arc;
  for (int i = 0; i <= 12; ++i) arc.push_back(point(to_camera + (upright - to_camera) * i / 12, reach - 8));
  svg.polyline(arc, Ink::accent, 1.5);
}

void draw_measures(Svg& svg, const ViewPlan& plan, const Scene& scene, const Placing& placed) {
  const Box box = scene.box();
  const Point camera = placed(scene.camera);
  const Point middle = placed(scene.middle);
  const double below = placed(Point{0, box.low.y}).y + 26;
  if (!plan.bed) {
    if (middle.x - camera.x >= kRoomForWords)
      svg.measure({camera.x, below}, {middle.x, below}, given(plan.target.distance));
    return;
  }
  if (middle.y - camera.y >= kMargin) {
    svg.measure({8, camera.y}, {8, middle.y},
                shown(plan.target.distance * std::cos(plan.target.tilt.radians())));
  }
  if (middle.x - camera.x >= kRoomForWords) {
    svg.line(camera, {camera.x, below}, Ink::soft, 1, true);
    svg.measure({camera.x, below}, {middle.x, below},
                shown(plan.target.distance * std::sin(plan.target.tilt.radians())));
  }
}

// A round length of 40 to 100 px.
void draw_scale(Svg& svg, double scale, double y) {
  const double most = 100 / scale;
  double round = std::pow(10, std::floor(std::log10(most)));
  if (round * 5 <= most) {
    round *= 5;
  } else if (round * 2 <= most) {
    round *= 2;
  }
  svg.line({10, y}, {10 + round * scale, y}, Ink::line, 2);
  for (const double end : {10.0, 10 + round * scale}) svg.line({end, y - 4}, {end, y + 4}, Ink::line, 1.5);
  svg.text({18 + round * scale, y + 4}, shown(Metres::from_value(round), 1), Anchor::start, 12, Ink::soft);
}

void draw_tilt_words(Svg& svg, const ViewPlan& plan, Point at) {
  if (plan.target.tilt.degrees < kLeastTilt) return;
  svg.line({at.x, at.y}, {at.x + 18, at.y}, Ink::accent, 1, true);
  svg.text({at.x + 26, at.y + 4}, fmt::format("Tilt {}", shown(plan.target.tilt)), Anchor::start, 12,
           Ink::accent);
}

std::string sharp_words(const ViewPlan& plan, double end) {
  const std::string far = plan.sharp.far ? shown(*plan.sharp.far) : "infinity";
  const bool beyond = !plan.bed && plan.sharp.far && plan.sharp.far->value() > end;
  return fmt::format("Sharp from {} to {}, focused at {}{}", shown(plan.sharp.near), far, shown(plan.focus),
                     beyond ? " (ends beyond this drawing)" : "");
}

void draw_words(Svg& svg, const ViewPlan& plan, double right) {
  const Measures m(plan);
  const std::string up = shown(angle_of_view(plan.picture.height(), plan.focal));
  const std::string across = shown(angle_of_view(plan.picture.width(), plan.focal));
  svg.text({10, 18}, "From the side").text({right, 18}, "From above");
  const double first = kPanelTop + kPanelHeight + 18;
  const std::string distance = given(plan.target.distance);
  std::string words;
  if (plan.bed) {
    words = fmt::format("{} to the bed's middle, looks down by {}", distance,
                        shown(Degrees{90 - plan.target.tilt.degrees}));
  } else if (plan.visible.far) {
    words = fmt::format("{} away, {} cover {} up and down", distance, up,
                        shown(*plan.visible.far - plan.visible.near));
  } else {
    words = fmt::format("{} away, {} see past the target", distance, up);
  }
  svg.text({10, first}, words, Anchor::start, 12, Ink::soft);
  svg.text(
      {right, first},
      fmt::format("{} cover {} across the middle", across, shown(plan.covered_width(plan.target.distance))),
      Anchor::start, 12, Ink::soft);
  const double second = first + 26;
  svg.rect({10, second - 10}, 18, 12, Ink::trace, Ink::wash);
  svg.text({36, second}, sharp_words(plan, m.end), Anchor::start, 12);
  if (!plan.bed) return;
  const Ink ink = plan.bed_fits() ? Ink::line : Ink::accent;
  svg.line({10, second + 18}, {28, second + 18}, ink, 3.5);
  svg.text({36, second + 22},
           fmt::format("The bed, {} × {}: {}", given(plan.bed->width), given(plan.bed->depth),
                       plan.bed_fits() ? "whole in the picture" : "not whole in the picture"),
           Anchor::start, 12, ink);
}

}  // namespace

std::string view_drawing(const ViewPlan& plan) {
  const double height = kPanelTop + kPanelHeight + (plan.bed ? 96 : 74);
  Svg svg(kWidth, height, "Camera, what it sees and what is sharp of it, from the side and from above");
  const Scene side = side_of(plan);
  const Scene top = top_of(plan);
  const double right = kPanelWidth + kGap + kMargin;
  const double at_left = plan.bed ? kMeasure : kMargin;
  const Room left_room{at_left, kPanelWidth - kMargin - at_left};
  const Room right_room{right + kMargin, kWidth - right - 2 * kMargin};
  const double scale = std::min(scale_for(side.box(), left_room), scale_for(top.box(), right_room));
  const Placing side_placed = place_in(side.box(), left_room, scale);
  const Placing top_placed = place_in(top.box(), right_room, scale);
  const Ink target = plan.bed && !plan.bed_fits() ? Ink::accent : Ink::line;
  draw_scene(svg, side, side_placed, target);
  draw_scene(svg, top, top_placed, target);
  draw_tilt(svg, plan, side, side_placed);
  draw_measures(svg, plan, side, side_placed);
  draw_words(svg, plan, right);
  draw_scale(svg, scale, height - 10);
  draw_tilt_words(svg, plan, {right, height - 10});
  return svg.done();
}

}  // namespace rookery::plan
