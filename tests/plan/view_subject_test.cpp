// What the subject "view" says, and what it draws.
#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <regex>

#include <fmt/format.h>

#include "plan/subject.h"
#include "plan/unit_text.h"

namespace rookery::plan {
namespace {

using Asked = std::vector<Given>;

base::Result<Planned> ask(const Asked& given) { return plan(*find_subject("view"), given); }

Answer answer(const Asked& given) {
  auto planned = ask(given);
  EXPECT_TRUE(planned) << planned.error().text();
  return planned ? planned->answer : Answer{};
}

bool has(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

const Limit* limit_of(const Answer& answer, std::string_view key) {
  for (const Limit& limit : answer.limits) {
    if (limit.key == key) return &limit;
  }
  return nullptr;
}

// The first number with a unit behind `words` in a remedy, as a person would type it.
std::string number_behind(const std::string& text, const std::string& words) {
  std::smatch found;
  if (!std::regex_search(text, found, std::regex(words + "([0-9.]+ ?[a-zµ]+)"))) return {};
  return found[1];
}

TEST(ViewSubject, ADoorFiveMetresAway) {
  const Answer door = answer({{"distance", "5 m"}});
  EXPECT_NEAR(door.figure("density").value, 1482.6 / 5, 0.05);
  EXPECT_NEAR(door.figure("covers").value, 5.396, 0.001);
  EXPECT_TRUE(has(door.headline, "enough to identify; to inspect, come to 1.48 m")) << door.headline;
  EXPECT_EQ(door.verdict(), Verdict::holds);
  EXPECT_TRUE(has(door.figure("sharp-near").note, "infinity"));
}

TEST(ViewSubject, PixelsGoWithTheWidthThatIsUsed) {
  const Answer whole = answer({{"distance", "5 m"}});
  const Answer half = answer({{"distance", "5 m"}, {"width", "800"}});
  EXPECT_NEAR(half.figure("density").value * 2, whole.figure("density").value, 1e-9);
  EXPECT_DOUBLE_EQ(half.figure("covers").value, whole.figure("covers").value);
  EXPECT_NEAR(half.figure("bands").value, 2.98, 0.005);
  EXPECT_NEAR(whole.figure("bands").value, 6.41, 0.005);
}

TEST(ViewSubject, OneLensInThreeDescriptions) {
  const Answer usual = answer({{"distance", "1 m"}});
  for (const Given& lens :
       {Given{"diagonal-angle", "68 deg"}, {"horizontal-angle", "56.7 deg"}, {"focal-length", "3.26 mm"}}) {
    const Answer same = answer({{"distance", "1 m"}, lens});
    EXPECT_NEAR(same.figure("density").value / usual.figure("density").value, 1, 0.001) << lens.key;
    EXPECT_NEAR(same.figure("angle").value, 56.7, 0.06) << lens.key;
  }
  EXPECT_FALSE(ask({{"distance", "1 m"}, {"focal-length", "3 mm"}, {"diagonal-angle", "68 deg"}}));
}

TEST(ViewSubject, ATiltedTargetIsCoarserWhereItIsFarther) {
  const Answer tilted = answer({{"distance", "2 m"}, {"tilt", "30 deg"}});
  const double near = tilted.figure("density-near").value;
  const double middle = tilted.figure("density").value;
  const double far = tilted.figure("density-far").value;
  EXPECT_GT(near, middle);
  EXPECT_GT(middle, far);
  // z = d·cos t/(cos t ± tan(v/2)·sin t), with tan(v/2) = 1.32 / 3.2617.
  EXPECT_NEAR(near / middle, 1 + 0.40470 * std::tan(M_PI / 6), 1e-4);
  EXPECT_NEAR(far / middle, 1 - 0.40470 * std::tan(M_PI / 6), 1e-4);
  EXPECT_TRUE(answer({{"distance", "2 m"}}).tables.size() < tilted.tables.size());
}

TEST(ViewSubject, APictureThatLooksPastTheTargetSaysSo) {
  const Answer past = answer({{"distance", "2 m"}, {"tilt", "75 deg"}});
  EXPECT_TRUE(std::any_of(past.notes.begin(), past.notes.end(),
                          [](const Note& note) { return has(note.text, "looks past the target"); }));
  EXPECT_TRUE(std::none_of(past.figures.begin(), past.figures.end(),
                           [](const Figure& figure) { return figure.key == "covers-up"; }));
}

const Asked kBed = {{"bed-width", "220 mm"}, {"bed-depth", "220 mm"}, {"tilt", "35 deg"}};

Answer bed_at(const std::string& distance, const Asked& more = {}) {
  Asked asked = kBed;
  asked.push_back({"distance", distance});
  asked.insert(asked.end(), more.begin(), more.end());
  return answer(asked);
}

TEST(ViewSubject, ABedFitsFromTheDistanceThatIsSaid) {
  // D/2·sin t + D·cos t·f/h, with f 3.2617 mm and h 2.64 mm.
  EXPECT_NEAR(bed_at("400 mm").figure("bed-from").value, 0.2857, 0.0001);
  EXPECT_EQ(limit_of(bed_at("400 mm"), "bed")->verdict, Verdict::holds);
  EXPECT_EQ(limit_of(bed_at("290 mm"), "bed")->verdict, Verdict::tight);
  const Answer near = bed_at("280 mm");
  EXPECT_EQ(limit_of(near, "bed")->verdict, Verdict::fails);
  EXPECT_TRUE(has(near.headline, "not whole in the picture, which it is from 286 mm on")) << near.headline;
  EXPECT_EQ(limit_of(bed_at(number_behind(limit_of(near, "bed")->remedy, "Go back to ")), "bed")->verdict,
            Verdict::holds);
}

TEST(ViewSubject, ABedsCameraStandsAboveAndInFront) {
  const Answer bed = bed_at("400 mm");
  EXPECT_NEAR(bed.figure("height").value, 0.4 * std::cos(35 * M_PI / 180), 1e-9);
  EXPECT_NEAR(bed.figure("setback").value, 0.4 * std::sin(35 * M_PI / 180), 1e-9);
}

TEST(ViewSubject, ALayerIsNotSeenByACameraThatSeesTheWholeBed) {
  const Answer bed = bed_at("320 mm", {{"detail", "0.2 mm"}});
  EXPECT_NEAR(limit_of(bed, "detail")->value, 0.531, 0.001);
  EXPECT_EQ(limit_of(bed, "detail")->verdict, Verdict::fails);
  EXPECT_TRUE(has(bed.headline, "a layer of 0.2 mm is 0.5 px high, too little to see it")) << bed.headline;
  EXPECT_TRUE(has(limit_of(bed, "detail")->remedy, "one picture does not show both"));
}

TEST(ViewSubject, FromStraightAboveThereAreNoLayers) {
  const Answer above = answer(
      {{"distance", "400 mm"}, {"bed-width", "220 mm"}, {"bed-depth", "220 mm"}, {"detail", "0.2 mm"}});
  EXPECT_TRUE(has(above.headline, "from above no layers are seen")) << above.headline;
  EXPECT_TRUE(has(limit_of(above, "detail")->remedy, "tilt of 60°"));
}

TEST(ViewSubject, RemediesAreRight) {
  const Answer task = answer({{"distance", "8 m"}, {"task", "identify"}});
  ASSERT_EQ(limit_of(task, "task")->verdict, Verdict::fails);
  const std::string nearer = number_behind(limit_of(task, "task")->remedy, "Come to ");
  EXPECT_NE(limit_of(answer({{"distance", nearer}, {"task", "identify"}}), "task")->verdict, Verdict::fails)
      << nearer;
  const std::string longer = number_behind(limit_of(task, "task")->remedy, "lens of ");
  EXPECT_NE(limit_of(answer({{"distance", "8 m"}, {"task", "identify"}, {"focal-length", longer}}), "task")
                ->verdict,
            Verdict::fails)
      << longer;

  const Answer detail = answer({{"distance", "2 m"}, {"detail", "1 mm"}});
  ASSERT_EQ(limit_of(detail, "detail")->verdict, Verdict::fails);
  const std::string close = number_behind(limit_of(detail, "detail")->remedy, "come to ");
  EXPECT_NE(limit_of(answer({{"distance", close}, {"detail", "1 mm"}}), "detail")->verdict, Verdict::fails)
      << close;

  const Answer walk = answer({{"distance", "2 m"}, {"speed", "1.4 m/s"}});
  ASSERT_EQ(limit_of(walk, "blur")->verdict, Verdict::fails);
  EXPECT_TRUE(has(limit_of(walk, "blur")->remedy, "either blur or bands"));
  const std::string brief = number_behind(limit_of(walk, "blur")->remedy, "at most ");
  const Answer sharp = answer({{"distance", "2 m"}, {"speed", "1.4 m/s"}, {"exposure", brief}});
  EXPECT_NE(limit_of(sharp, "blur")->verdict, Verdict::fails) << brief;
  EXPECT_EQ(limit_of(sharp, "flicker")->verdict, Verdict::fails);

  const Answer unsharp = bed_at("400 mm", {{"focus", "2 m"}});
  ASSERT_EQ(limit_of(unsharp, "focus")->verdict, Verdict::fails);
  const std::string focus = number_behind(limit_of(unsharp, "focus")->remedy, "Focus at ");
  EXPECT_EQ(limit_of(bed_at("400 mm", {{"focus", focus}}), "focus")->verdict, Verdict::holds) << focus;
}

// Each remedy that names a value, typed back in, mends what it is the remedy of.
RC_GTEST_PROP(ViewSubject, RemediesHoldWhenTypedBackIn, ()) {
  struct Way {
    std::string_view limit;
    std::string words;
    std::string field;
  };
  const Asked asked = {{"distance", std::to_string(*rc::gen::inRange(50, 3000)) + " cm"},
                       {"tilt", std::to_string(*rc::gen::inRange(0, 40)) + " deg"},
                       {"task", *rc::gen::element<std::string>("detect", "recognise", "identify", "inspect")},
                       {"detail", std::to_string(*rc::gen::inRange(2, 100)) + " mm"},
                       {"exposure", std::to_string(*rc::gen::inRange(1, 40)) + " ms"},
                       {"speed", std::to_string(*rc::gen::inRange(1, 50) * 0.1) + " m/s"}};
  const auto first = ask(asked);
  if (!first) return;
  const std::vector<Way> ways = {{"task", "[cC]ome to ", "distance"},
                                 {"task", "lens of ", "focal-length"},
                                 {"detail", "come to ", "distance"},
                                 {"blur", "at most ", "exposure"},
                                 {"flicker", "Expose for ", "exposure"}};
  for (const Way& way : ways) {
    const Limit* limit = limit_of(first->answer, way.limit);
    if (limit == nullptr) continue;
    const std::string value = number_behind(limit->remedy, way.words);
    if (value.empty()) continue;
    Asked again = asked;
    std::erase_if(again, [&](const Given& one) { return one.key == way.field; });
    again.push_back({way.field, value});
    const auto second = ask(again);
    // What lies beyond the sum's range is refused in words.
    if (!second) continue;
    RC_ASSERT(limit_of(second->answer, way.limit)->verdict != Verdict::fails);
    RC_TAG(std::string(way.limit));
  }
}

TEST(ViewSubject, AskedForAWiderPictureItIsEnough) {
  const Answer narrow = answer({{"distance", "4 m"}, {"width", "640"}, {"task", "identify"}});
  const std::string wider = number_behind(limit_of(narrow, "task")->remedy, "a picture ");
  EXPECT_NE(limit_of(answer({{"distance", "4 m"}, {"width", wider}, {"task", "identify"}}), "task")->verdict,
            Verdict::fails)
      << wider;
}

TEST(ViewSubject, WhatServesNoTaskDoesNotHold) {
  const Answer far = answer({{"distance", "200 m"}});
  EXPECT_EQ(far.verdict(), Verdict::fails);
  EXPECT_TRUE(has(far.headline, "too few even to monitor; to monitor, come to 118 m")) << far.headline;
  EXPECT_EQ(answer({{"distance", "118 m"}}).verdict(), Verdict::holds);
}

TEST(ViewSubject, DaylightHasNoBands) {
  const Answer day = answer({{"distance", "2 m"}, {"exposure", "3 ms"}, {"flicker-depth", "0 %"}});
  EXPECT_EQ(limit_of(day, "flicker"), nullptr);
  const Answer lamp = answer({{"distance", "2 m"}, {"exposure", "3 ms"}});
  EXPECT_EQ(limit_of(lamp, "flicker")->verdict, Verdict::fails);
  EXPECT_EQ(limit_of(answer({{"distance", "2 m"}, {"exposure", "20 ms"}}), "flicker")->verdict,
            Verdict::holds);
  EXPECT_EQ(
      limit_of(answer({{"distance", "2 m"}, {"exposure", "20 ms"}, {"mains", "60 Hz"}}), "flicker")->verdict,
      Verdict::fails);
}

struct Refused {
  Asked asked;
  std::string_view where;
  std::string_view remedy;
};

TEST(ViewSubject, WhatDoesNotGoTogetherIsRefusedWithWhatToChange) {
  const std::vector<Refused> cases = {
      {{{"distance", "3 cm"}}, "view: distance", "give at least 32.7 mm"},
      {{{"distance", "1 m"}, {"width", "2000"}}, "view: width", "at most 1600 px"},
      {{{"distance", "1 m"}, {"height", "1201"}}, "view: height", "at most 1200 px"},
      {{{"distance", "1 m"}, {"sensor-width", "1280"}}, "view: width", "at most 1280 px"},
      {{{"distance", "1 m"}, {"focal-length", "1 mm"}}, "view: focal-length", "at most 120°"},
      {{{"distance", "1 m"}, {"horizontal-angle", "110 deg"}}, "view: horizontal-angle", "at most 120°"},
      {{{"distance", "1 m"}, {"bed-width", "1 m"}}, "view: bed-depth", "give both, or neither"},
      {{{"distance", "1 m"}, {"focus", "3 cm"}}, "view: focus", "give at least 32.7 mm"},
      {{{"distance", "1 m"}, {"lines", "500"}}, "view: lines", "smaller width"},
      {{{"distance", "1 m"}, {"width", "320"}, {"lines", "500"}}, "view: frame-rate", "give both lines and"},
      {{{"distance", "10 cm"}, {"tilt", "70 deg"}, {"bed-width", "22 cm"}, {"bed-depth", "22 cm"}},
       "view: distance",
       "give at least 308 mm"},
  };
  for (const Refused& one : cases) {
    const auto planned = ask(one.asked);
    ASSERT_FALSE(planned) << one.where << ": " << planned->answer.headline;
    EXPECT_EQ(planned.error().code, base::ErrorCode::invalid_value);
    EXPECT_EQ(planned.error().where, one.where) << planned.error().text();
    EXPECT_TRUE(has(planned.error().remedy, one.remedy)) << planned.error().text();
  }
}

TEST(ViewSubject, TheDistanceThatARefusalNamesIsTaken) {
  EXPECT_TRUE(ask({{"distance", "32.7 mm"}}));
  EXPECT_TRUE(
      ask({{"distance", "308 mm"}, {"tilt", "70 deg"}, {"bed-width", "22 cm"}, {"bed-depth", "22 cm"}}));
}

// --- the drawing

struct Segment {
  double x1, y1, x2, y2;
  bool dashed;
  double length() const { return std::hypot(x2 - x1, y2 - y1); }
};

std::vector<Segment> lines_of(const std::string& svg) {
  static const std::regex kLine(
      "<line x1=\"([-0-9.]+)\" y1=\"([-0-9.]+)\" x2=\"([-0-9.]+)\" y2=\"([-0-9.]+)\"([^>]*)>");
  std::vector<Segment> out;
  for (std::sregex_iterator at(svg.begin(), svg.end(), kLine), end; at != end; ++at) {
    out.push_back({std::stod((*at)[1]), std::stod((*at)[2]), std::stod((*at)[3]), std::stod((*at)[4]),
                   has((*at)[5], "dasharray")});
  }
  return out;
}

std::vector<std::pair<double, double>> points_of(const std::string& svg) {
  std::vector<std::pair<double, double>> out;
  for (const Segment& line : lines_of(svg)) {
    out.emplace_back(line.x1, line.y1);
    out.emplace_back(line.x2, line.y2);
  }
  static const std::regex kPoints("points=\"([^\"]+)\"");
  static const std::regex kPair("([-0-9.]+),([-0-9.]+)");
  for (std::sregex_iterator at(svg.begin(), svg.end(), kPoints), end; at != end; ++at) {
    const std::string list = (*at)[1];
    for (std::sregex_iterator pair(list.begin(), list.end(), kPair); pair != end; ++pair)
      out.emplace_back(std::stod((*pair)[1]), std::stod((*pair)[2]));
  }
  return out;
}

void expect_inside(const std::string& svg) {
  static const std::regex kBox("viewBox=\"0 0 ([0-9.]+) ([0-9.]+)\"");
  std::smatch box;
  RC_ASSERT(std::regex_search(svg, box, kBox));
  const double width = std::stod(box[1]);
  const double height = std::stod(box[2]);
  const auto points = points_of(svg);
  RC_ASSERT(points.size() > 20U);
  for (const auto& [x, y] : points) {
    RC_ASSERT(x >= 0 && x <= width);
    RC_ASSERT(y >= 0 && y <= height);
  }
  // Words as wide as DejaVu Sans has them on average, about 0.58 of their size a letter.
  static const std::regex kText(
      "<text x=\"([-0-9.]+)\"[^>]*text-anchor=\"start\" font-size=\"([0-9.]+)\"[^>]*>([^<]*)<");
  for (std::sregex_iterator at(svg.begin(), svg.end(), kText), end; at != end; ++at) {
    const std::string words = (*at)[3];
    const auto letters = std::count_if(words.begin(), words.end(),
                                       [](char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; });
    RC_ASSERT(std::stod((*at)[1]) + static_cast<double>(letters) * 0.58 * std::stod((*at)[2]) <= width);
  }
}

double any_over(double least, double most) {
  return least * std::pow(most / least, *rc::gen::inRange(0, 10001) / 1e4);
}

RC_GTEST_PROP(ViewDrawing, FitsItsPaper, ()) {
  Asked asked = {{"distance", fmt::format("{:.4f} m", any_over(0.35, 200))},
                 {"tilt", fmt::format("{} deg", *rc::gen::inRange(0, 81))},
                 {"diagonal-angle", fmt::format("{} deg", *rc::gen::inRange(15, 121))}};
  if (*rc::gen::arbitrary<bool>()) {
    asked.push_back({"bed-width", fmt::format("{:.3f} m", any_over(0.02, 5))});
    asked.push_back({"bed-depth", fmt::format("{:.3f} m", any_over(0.02, 5))});
  }
  if (*rc::gen::arbitrary<bool>()) asked.push_back({"focus", fmt::format("{:.3f} m", any_over(0.2, 1000))});
  const auto planned = ask(asked);
  RC_PRE(planned.has_value());
  expect_inside(planned->answer.drawing);
}

// Any mix of values, at their ends and between: an answer of numbers that fits its paper, or a reason.
RC_GTEST_PROP(ViewSubject, AnyMixOfValuesIsAnsweredOrRefusedInWords, ()) {
  const Subject& subject = *find_subject("view");
  Asked asked;
  for (const Field& field : subject.fields) {
    const int which = *rc::gen::inRange(0, field.must_be_given() ? 3 : 16);
    if (which > 2) continue;
    if (field.kind == Kind::choice) {
      const auto one = *rc::gen::inRange<std::size_t>(0, field.choices.size());
      asked.push_back({std::string(field.key), std::string(field.choices[one].key)});
      continue;
    }
    const std::string_view between = field.example.empty() ? field.preset : field.example;
    asked.push_back({std::string(field.key), std::string(which == 0   ? field.least
                                                         : which == 1 ? field.most
                                                                      : between)});
  }
  // What would be refused nearly always: a second lens, half a bed, a picture larger than any sensor.
  std::string_view lens;
  std::erase_if(asked, [&](const Given& one) {
    if (one.key == "height" || one.text == "10000 px") return true;
    if (one.key != "focal-length" && !one.key.ends_with("-angle")) return false;
    if (!lens.empty()) return true;
    lens = one.key;
    return false;
  });
  const auto given = [&](std::string_view key) {
    return std::any_of(asked.begin(), asked.end(), [&](const Given& one) { return one.key == key; });
  };
  if (given("bed-width") != given("bed-depth"))
    asked.push_back({given("bed-width") ? "bed-depth" : "bed-width", "30 cm"});
  const auto planned = ask(asked);
  RC_TAG(planned ? "answered" : std::string(planned.error().where));
  if (!planned) {
    RC_ASSERT(!planned.error().remedy.empty());
    return;
  }
  for (const Figure& figure : planned->answer.figures) RC_ASSERT(std::isfinite(figure.value));
  for (const Limit& limit : planned->answer.limits)
    RC_ASSERT(std::isfinite(limit.value) && !limit.remedy.empty());
  const std::string text = to_text(planned->answer, planned->values);
  RC_ASSERT(!has(text, "nan"));
  RC_ASSERT(!std::regex_search(text, std::regex("-?inf\\b")));
  expect_inside(planned->answer.drawing);
}

// The distance that is written, against the bar that is drawn for the scale: both views have the same.
TEST(ViewDrawing, IsToScaleInBothViews) {
  const std::string svg = answer({{"distance", "5 m"}}).drawing;
  std::vector<double> axes;
  double bar = 0;
  for (const Segment& line : lines_of(svg)) {
    if (line.dashed) axes.push_back(line.length());
    if (line.x1 == 10 && line.y1 == line.y2 && line.x2 > 40) bar = line.length();
  }
  ASSERT_EQ(axes.size(), 2U);
  EXPECT_NEAR(axes[0], axes[1], 0.21);
  ASSERT_TRUE(has(svg, ">2 m<"));
  EXPECT_NEAR(axes[0] / bar, 5.0 / 2, 0.02);
}

TEST(ViewDrawing, ShowsBedAndTiltInWords) {
  const std::string svg = bed_at("400 mm").drawing;
  EXPECT_TRUE(has(svg, "The bed, 220 mm × 220 mm: whole in the picture"));
  EXPECT_TRUE(has(svg, "Tilt 35.0°"));
  EXPECT_TRUE(has(svg, "looks down by 55.0°"));
  EXPECT_TRUE(has(bed_at("280 mm").drawing, "not whole in the picture"));
}

}  // namespace
}  // namespace rookery::plan
