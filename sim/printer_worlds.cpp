#include "sim/printer_worlds.h"

namespace rookery::sim {
namespace {

constexpr float kPi = 3.14159265F;

void add(std::vector<Solid>& to, std::initializer_list<Solid> more) { to.insert(to.end(), more); }

// Spool seen from its side: two discs, a hub, the filament wound between.
void add_spool(std::vector<Solid>& to, Vec3 c, float radius, int axis, Material filament) {
  Vec3 off{0, 0, 0};
  (axis == 0 ? off.x : off.y) = 3.4F;
  const Material rim = paint(40, 42, 46, 0.25F);
  add(to,
      {cylinder(c - off, radius, 0.35F, axis, rim), cylinder(c + off, radius, 0.35F, axis, rim),
       cylinder(c, radius * 0.8F, 3.2F, axis, filament, 0.1F), cylinder(c, 1.4F, 5.5F, axis, metal(0.5F))});
}

// A block of aluminium with a fan, a shroud and a brass nozzle whose tip is at `tip`.
std::vector<Solid> print_head(Vec3 tip, Material body) {
  std::vector<Solid> head;
  const Material dark = paint(28, 29, 32, 0.3F);
  const Material brass = paint(205, 165, 80, 0.6F);
  add(head, {cylinder(tip + Vec3{0, 0, 0.5F}, 0.35F, 0.5F, 2, brass),
             cylinder(tip + Vec3{0, 0, 1.2F}, 0.75F, 0.4F, 2, brass),
             box(tip + Vec3{0, 0, 2.3F}, {1.3F, 1.1F, 0.8F}, metal(0.5F)),
             box(tip + Vec3{0, 0.2F, 5.6F}, {2.9F, 1.9F, 2.6F}, body, 0.5F),
             cylinder(tip + Vec3{0, -1.8F, 5.6F}, 2.1F, 0.35F, 1, dark),
             cylinder(tip + Vec3{0, -2.1F, 5.6F}, 0.7F, 0.3F, 1, paint(90, 92, 96, 0.3F)),
             box(tip + Vec3{2.9F, -0.4F, 3.3F}, {0.9F, 1.3F, 1.6F}, dark, 0.4F),
             box(tip + Vec3{0, 0.2F, 8.7F}, {1.8F, 1.5F, 0.6F}, dark),
             cylinder(tip + Vec3{0, 0.2F, 9.8F}, 0.45F, 0.9F, 2, brass)});
  for (int blade = 0; blade < 5; ++blade) {
    const float a = static_cast<float>(blade) * 2 * kPi / 5 + 0.4F;
    head.push_back(capsule(tip + Vec3{0.8F * std::cos(a), -2.2F, 5.6F + 0.8F * std::sin(a)},
                           tip + Vec3{1.7F * std::cos(a + 0.5F), -2.2F, 5.6F + 1.7F * std::sin(a + 0.5F)},
                           0.22F, paint(70, 72, 78, 0.3F)));
  }
  return head;
}

void add_hand_tools(std::vector<Solid>& to, float x, float z) {
  const Material steel = metal(0.6F);
  const Material red = paint(168, 44, 34, 0.3F);
  const float y = 57.2F;
  add(to, {capsule({x, y, z}, {x, y, z + 9}, 1.1F, red), capsule({x, y, z - 9}, {x, y, z}, 0.4F, steel),
           capsule({x + 7, y, z - 8}, {x + 7, y, z + 6}, 0.8F, steel),
           ellipsoid({x + 7, y, z + 7}, {2.2F, 0.6F, 2.4F}, steel),
           ellipsoid({x + 7, y, z - 9}, {1.9F, 0.6F, 2.1F}, steel),
           capsule({x + 14, y, z - 7}, {x + 14, y, z + 5}, 0.9F, paint(150, 105, 60, 0.1F)),
           box({x + 14, y, z + 7}, {4.2F, 1.2F, 1.5F}, steel)});
}

void add_bottles(std::vector<Solid>& to, float x, float y) {
  const Material glass = paint(70, 110, 92, 0.6F);
  add(to, {cylinder({x, y, 5}, 2.6F, 5, 2, glass, 0.8F),
           cylinder({x, y, 11}, 0.9F, 1.4F, 2, paint(230, 228, 220, 0.3F)),
           cylinder({x + 7, y + 1, 3.4F}, 3, 3.4F, 2, paint(206, 196, 176, 0.3F), 0.4F),
           capsule({x + 6, y + 1, 6}, {x + 4.6F, y + 0.5F, 12}, 0.35F, paint(200, 170, 60, 0.3F)),
           capsule({x + 7.6F, y + 1, 6}, {x + 9, y + 1.5F, 11}, 0.35F, paint(50, 90, 150, 0.3F)),
           capsule({x + 7, y + 0.5F, 6}, {x + 7.3F, y, 12.5F}, 0.3F, metal(0.6F))});
}

World bench(Material top, Material wall) {
  World world;
  add(world.solids,
      {block({-140, -60, -6}, {140, 60, 0}, top, 0.6F), block({-160, 60, -40}, {160, 66, 120}, wall)});
  return world;
}

Solid upright(float x, float y, float z0, float z1, float half, Material material) {
  return block({x - half, y - half, z0}, {x + half, y + half, z1}, material, 0.25F);
}

}  // namespace

PrinterWorld anvil_world() {
  PrinterWorld p;
  p.world = bench(paint(176, 134, 88, 0.12F, Finish::wood), paint(206, 196, 172, 0.03F, Finish::pegboard));
  World& w = p.world;
  const Material frame = metal(0.35F);
  const Material dark = paint(34, 36, 40, 0.25F);
  add(w.solids,
      {block({-24, 8, 1.2F}, {24, 16, 5}, dark, 0.6F), block({-24, 40, 1.2F}, {24, 44, 5}, dark, 0.6F),
       block({-9, 4, 2}, {-5, 44, 4.6F}, frame), block({5, 4, 2}, {9, 44, 4.6F}, frame),
       upright(-21, 30, 1, 47, 1.6F, frame), upright(21, 30, 1, 47, 1.6F, frame),
       block({-22.6F, 28.4F, 46}, {22.6F, 31.6F, 49}, frame),
       cylinder({-17.6F, 30, 26}, 0.5F, 20, 2, metal(0.7F)),
       cylinder({17.6F, 30, 26}, 0.5F, 20, 2, metal(0.7F)), box({-17.6F, 30, 4}, {2.4F, 2.4F, 2.4F}, dark),
       box({17.6F, 30, 4}, {2.4F, 2.4F, 2.4F}, dark),
       block({12, 3, 0.6F}, {24, 9, 8}, paint(46, 48, 54, 0.3F), 0.8F),
       box({17, 2.8F, 4.9F}, {4.2F, 0.3F, 2.3F}, glowing({0.25F, 0.6F, 1.0F}, 0.75F)),
       cylinder({22.2F, 2.6F, 4.4F}, 1.1F, 0.7F, 1, metal(0.6F)),
       block({-2.5F, 29.5F, 49}, {2.5F, 30.5F, 58}, dark)});
  add_spool(w.solids, {0, 30, 58}, 10, 1, paint(28, 140, 142, 0.25F));
  add_hand_tools(w.solids, -58, 44);
  add_hand_tools(w.solids, 40, 40);
  add_bottles(w.solids, -46, 34);
  add(w.solids, {box({42, 34, 5}, {8, 6, 5}, paint(156, 70, 52, 0.15F), 0.5F, 0.3F),
                 box({42, 34, 10.5F}, {8.3F, 6.3F, 0.6F}, paint(130, 56, 42, 0.2F), 0.3F, 0.3F),
                 capsule({34, 12, 0.8F}, {46, 8, 0.8F}, 0.8F, paint(210, 160, 50, 0.3F)),
                 capsule({-40, 8, 0.5F}, {-31, 14, 0.5F}, 0.5F, metal(0.7F))});
  p.home = {0, 25, 8};
  p.bed = {block({-13, 12, 5.4F}, {13, 38, 6.3F}, metal(0.45F)),
           block({-13.2F, 11.8F, 6.7F}, {13.2F, 38.2F, 8}, paint(30, 30, 33, 0.35F), 0.2F),
           block({-13.2F, 11.7F, 6.5F}, {13.2F, 11.9F, 7.2F}, paint(190, 92, 40, 0.3F)),
           cylinder({-11, 13.5F, 5.6F}, 0.8F, 0.7F, 2, metal(0.7F)),
           cylinder({11, 13.5F, 5.6F}, 0.8F, 0.7F, 2, metal(0.7F))};
  p.head = print_head(p.home, paint(214, 120, 36, 0.25F));
  p.beam = {block({-22.5F, 28, 12}, {22.5F, 30, 15}, metal(0.4F)),
            box({-20.8F, 28.6F, 13.5F}, {3, 2.6F, 3.6F}, dark),
            box({20.8F, 28.6F, 13.5F}, {3, 2.6F, 3.6F}, dark),
            box({-25, 28, 13.6F}, {2, 2, 2}, paint(20, 20, 22, 0.3F))};
  w.lamps = {{{-70, -60, 110}, {1.5F, 1.4F, 1.22F}, 16}, {{90, -20, 90}, {0.45F, 0.55F, 0.7F}, 26}};
  w.sky = {0.34F, 0.36F, 0.4F};
  w.ground = {0.18F, 0.14F, 0.1F};
  w.camera = {{18, -74, 46}, {0.5F, 27, 27}, 52};
  p.look = {.exposure = 0.88F, .tint = {1.03F, 1, 0.94F}};
  p.kind = PrintedKind::vase;
  p.plastic = paint(26, 150, 152, 0.32F);
  p.spool = {8, 29, 57};
  return p;
}

PrinterWorld bobbin_world() {
  PrinterWorld p;
  p.world = bench(paint(96, 92, 88, 0.1F, Finish::concrete), paint(86, 92, 104, 0.03F, Finish::plaster));
  World& w = p.world;
  const Material frame = paint(30, 31, 35, 0.35F);
  const Material panel = paint(58, 62, 70, 0.2F);
  for (const float x : {-23.0F, 23.0F}) {
    for (const float y : {4.0F, 48.0F}) w.solids.push_back(upright(x, y, 0, 50, 1.5F, frame));
  }
  add(w.solids,
      {block({-24.5F, 2.5F, 47}, {24.5F, 5.5F, 50}, frame),
       block({-24.5F, 46.5F, 47}, {24.5F, 49.5F, 50}, frame),
       block({-24.5F, 2.5F, 0}, {24.5F, 5.5F, 6}, frame, 0.5F),
       block({-24.5F, 4, 47}, {-21.5F, 48, 50}, frame), block({21.5F, 4, 47}, {24.5F, 48, 50}, frame),
       block({-23, 47.2F, 2}, {23, 48, 48}, panel), block({-23.6F, 5, 2}, {-23, 48, 48}, panel),
       block({23, 5, 2}, {23.6F, 48, 48}, panel), block({-22, 6, 1}, {22, 47, 2}, panel),
       block({-19, 5.8F, 47.0F}, {19, 6.6F, 47.4F}, glowing({1, 0.93F, 0.8F}, 5)),
       block({-15, 12, 8}, {15, 42, 9}, metal(0.4F)),
       block({-15.3F, 11.7F, 9.3F}, {15.3F, 42.3F, 10.4F}, paint(64, 54, 38, 0.3F), 0.2F),
       cylinder({-12, 44, 24}, 0.6F, 22, 2, metal(0.7F)), cylinder({12, 44, 24}, 0.6F, 22, 2, metal(0.7F)),
       cylinder({-21, 27, 40}, 0.5F, 20, 1, metal(0.7F)), cylinder({21, 27, 40}, 0.5F, 20, 1, metal(0.7F)),
       box({-14, 2.3F, 3}, {6, 0.3F, 1.9F}, glowing({0.95F, 0.62F, 0.2F}, 0.5F)),
       cylinder({14, 2, 3}, 1.5F, 0.6F, 1, metal(0.6F))});
  add_spool(w.solids, {31, 26, 11}, 11, 0, paint(220, 110, 30, 0.25F));
  add(w.solids, {block({27, 25, 0}, {35, 27, 11}, frame),
                 box({-44, 30, 7}, {9, 8, 7}, paint(150, 120, 84, 0.05F), 0.4F, -0.2F),
                 box({-44, 29, 16.5F}, {7, 6, 2.5F}, paint(170, 140, 100, 0.05F), 0.4F, 0.25F),
                 cylinder({50, 16, 4.5F}, 3.6F, 4.5F, 2, paint(210, 206, 196, 0.35F), 0.4F),
                 block({-90, 54, 48}, {90, 62, 50}, paint(120, 88, 58, 0.1F, Finish::wood)),
                 box({-40, 57, 55}, {10, 3, 5}, paint(52, 88, 118, 0.15F)),
                 box({-18, 57, 54}, {7, 3, 4}, paint(160, 58, 46, 0.15F)),
                 box({40, 57, 56}, {12, 3, 6}, paint(84, 104, 66, 0.15F))});
  p.home = {0, 27, 10.4F};
  p.head = print_head(p.home, paint(52, 56, 64, 0.35F));
  p.beam = {block({-21.5F, 28.4F, 15}, {21.5F, 30.2F, 17}, metal(0.5F)),
            box({-20.6F, 28.5F, 16}, {1.8F, 3, 2.2F}, paint(200, 92, 34, 0.3F)),
            box({20.6F, 28.5F, 16}, {1.8F, 3, 2.2F}, paint(200, 92, 34, 0.3F))};
  p.beam_follows_y = true;
  w.lamps = {{{0, 9, 45.5F}, {0.16F, 0.15F, 0.13F}, 5},
             {{-90, -70, 90}, {0.5F, 0.56F, 0.7F}, 24},
             {{12, -6, 60}, {0.22F, 0.2F, 0.18F}, 6}};
  w.sky = {0.17F, 0.19F, 0.24F};
  w.ground = {0.08F, 0.07F, 0.06F};
  w.camera = {{-11, -55, 43}, {1, 27, 21}, 52};
  p.look = {.exposure = 1.25F, .tint = {1.02F, 1, 0.97F}};
  p.kind = PrintedKind::gear;
  p.plastic = paint(232, 112, 28, 0.3F);
  p.spool = {26, 30, 47};
  return p;
}

std::vector<Solid> reaching_hand(Vec3 grip, float arm) {
  const Material glove = paint(196, 176, 128, 0.05F);
  const Material cuff = paint(150, 60, 46, 0.05F);
  const Material sleeve = paint(58, 82, 112, 0.05F);
  const auto p = [&](float x, float y, float z) { return grip + Vec3{x, y, z}; };
  return {ellipsoid(p(2.2F, -2.4F, 0.6F), {3.4F, 2.2F, 3.6F}, glove),
          capsule(p(0.2F, -1.8F, 3.0F), p(-3.0F, 0.2F, 2.6F), 0.95F, glove),
          capsule(p(0, -1.9F, 1.0F), p(-3.6F, 0.2F, 0.7F), 0.95F, glove),
          capsule(p(0, -1.9F, -1.0F), p(-3.3F, 0.2F, -1.2F), 0.95F, glove),
          capsule(p(0.4F, -1.8F, -2.6F), p(-2.4F, 0.2F, -2.9F), 0.9F, glove),
          capsule(p(3.4F, -2.0F, 3.2F), p(2.4F, 0.6F, 5.2F), 1.1F, glove),
          capsule(p(4.6F, -3.6F, 0), p(7.4F, -6.4F, -1.2F), 2.6F, cuff),
          capsule(p(7.2F, -6.2F, -1.2F), p(26 * arm, -26 * arm, -9 * arm), 3.4F, sleeve)};
}

PrinterWorld cog_world() {
  PrinterWorld p;
  p.world = bench(paint(134, 96, 62, 0.15F, Finish::wood), paint(92, 118, 122, 0.03F, Finish::plaster));
  World& w = p.world;
  const Material frame = metal(0.42F);
  const Material joint = paint(160, 40, 36, 0.3F);
  for (int i = 0; i < 3; ++i) {
    const float a = (static_cast<float>(i) * 120 + 90) * kPi / 180;
    const Vec3 foot{20 * std::cos(a), 27 + 20 * std::sin(a), 0};
    const float yaw = a - kPi / 2;
    add(w.solids, {box(foot + Vec3{0, 0, 31}, {1.7F, 1.7F, 31}, frame, 0.25F, yaw),
                   box(foot + Vec3{0, 0, 2.8F}, {4, 2.6F, 2.8F}, joint, 0.6F, yaw),
                   box(foot + Vec3{0, 0, 60}, {4, 2.6F, 2.4F}, joint, 0.6F, yaw)});
    const float b = a + 2 * kPi / 3;
    const Vec3 next{20 * std::cos(b), 27 + 20 * std::sin(b), 0};
    const Vec3 middle = (foot + next) * 0.5F;
    const float along = std::atan2(next.y - foot.y, next.x - foot.x);
    for (const float z : {1.6F, 4.2F, 60.5F})
      w.solids.push_back(box(middle + Vec3{0, 0, z}, {16, 1.1F, 1.1F}, frame, 0.2F, along));
  }
  add(w.solids, {cylinder({0, 27, 5.9F}, 13, 0.5F, 2, metal(0.4F)),
                 cylinder({0, 27, 7}, 13, 0.5F, 2, paint(44, 60, 66, 0.6F), 0.2F)});
  add_spool(w.solids, {-38, 30, 9}, 9, 1, paint(226, 220, 204, 0.2F));
  add_bottles(w.solids, 38, 30);
  add(w.solids, {block({-90, 50, 40}, {-26, 61, 42}, paint(150, 110, 70, 0.1F, Finish::wood)),
                 cylinder({-60, 55, 47}, 4, 5, 2, paint(180, 84, 52, 0.1F), 0.4F),
                 ellipsoid({-60, 55, 56}, {7, 4, 7}, paint(60, 104, 54, 0.1F)),
                 ellipsoid({-55, 54, 60}, {4, 3, 5}, paint(74, 122, 60, 0.1F)),
                 ellipsoid({-65, 54, 59}, {4, 3, 5}, paint(52, 92, 48, 0.1F)),
                 box({-40, 56, 47}, {5, 3, 5}, paint(212, 180, 90, 0.1F)),
                 box({-31, 56, 46}, {3, 3, 4}, paint(96, 60, 84, 0.1F)),
                 block({34, 58.8F, 28}, {66, 60, 62}, paint(216, 210, 196, 0.05F), 0.3F),
                 block({36, 58.2F, 30}, {64, 58.9F, 60}, paint(42, 76, 92, 0.1F)),
                 cylinder({50, 58, 45}, 8, 0.4F, 1, paint(220, 190, 120, 0.1F)),
                 box({44, 14, 1.5F}, {9, 6, 1.5F}, paint(196, 190, 176, 0.05F), 0.2F, 0.4F)});
  p.delta = true;
  p.home = {0, 27, 7.5F};
  const Material plate = paint(160, 40, 36, 0.3F);
  p.head = {cylinder(p.home + Vec3{0, 0, 0.5F}, 0.35F, 0.5F, 2, paint(205, 165, 80, 0.6F)),
            cylinder(p.home + Vec3{0, 0, 1.3F}, 0.8F, 0.5F, 2, paint(205, 165, 80, 0.6F)),
            cylinder(p.home + Vec3{0, 0, 2.8F}, 1.5F, 1.2F, 2, metal(0.5F)),
            cylinder(p.home + Vec3{0, 0, 4.6F}, 3.6F, 0.6F, 2, plate),
            cylinder(p.home + Vec3{0, 0, 6.6F}, 1.7F, 1.6F, 2, metal(0.6F)),
            box(p.home + Vec3{0, -2.6F, 3}, {1.3F, 0.5F, 1.4F}, paint(28, 29, 32, 0.3F)),
            ellipsoid(p.home + Vec3{-3.2F, -1.8F, 4.9F}, {0.7F, 0.7F, 0.7F}, metal(0.7F)),
            ellipsoid(p.home + Vec3{3.2F, -1.8F, 4.9F}, {0.7F, 0.7F, 0.7F}, metal(0.7F))};
  w.lamps = {{{70, -50, 120}, {1.9F, 1.55F, 1.1F}, 14}, {{-110, 0, 60}, {0.3F, 0.42F, 0.6F}, 26}};
  w.sky = {0.26F, 0.3F, 0.36F};
  w.ground = {0.14F, 0.1F, 0.08F};
  w.camera = {{3, -68, 38}, {0, 27, 26}, 52};
  p.look = {.exposure = 0.92F, .tint = {1.04F, 1, 0.92F}};
  p.kind = PrintedKind::tower;
  p.plastic = paint(226, 220, 204, 0.2F);
  p.spool = {-34, 29, 16};
  return p;
}

}  // namespace rookery::sim
