// Optics, pixels on target and frame rates against what others have published.
#include <gtest/gtest.h>

#include <vector>

#include "plan/exposure.h"
#include "plan/view.h"

namespace rookery::plan {
namespace {

// Published beside the formula H = f²/(N·c), without the + f that ours has: 50 mm, f/8, c 0.02 mm is 15 625
// mm; 35 mm, f/11, c 0.03 mm is 3712.12 mm.
TEST(ViewPublished, HyperfocalDistances) {
  EXPECT_NEAR((hyperfocal_distance(50_mm, 8, 0.02_mm) - 50_mm).value(), 15.625, 1e-6);
  EXPECT_NEAR((hyperfocal_distance(35_mm, 11, 0.03_mm) - 35_mm).value(), 3.71212, 5e-6);
}

// A textbook's thin lens, from memory: f 0.500 m, object at 0.750 m, image at 1.50 m, magnification −2.
TEST(ViewPublished, ThinLensOfATextbook) {
  const Metres image = image_distance(0.5_m, 0.75_m);
  EXPECT_NEAR(image.value(), 1.50, 1e-12);
  EXPECT_NEAR(-(image / 0.75_m).value(), -2, 1e-12);
}

// Focused at H, all is sharp from H/2 to infinity. Source: any text on depth of field; here with its formulas
// near = s(H − f)/(H + s − 2f), far = s(H − f)/(H − s), as published.
TEST(ViewPublished, FocusedAtTheHyperfocalDistanceHalfOfItIsSharp) {
  const Metres hyperfocal = hyperfocal_distance(50_mm, 22, 0.03_mm);
  const SharpRange range = sharp_range(hyperfocal, 50_mm, hyperfocal);
  EXPECT_FALSE(range.far);
  EXPECT_NEAR((range.near / hyperfocal).value(), 0.5, 1e-12);
}

// DIN EN 62676-4 (2016-07, the text of IEC 62676-4:2014), as quoted by others: millimetres a pixel, pixels a
// metre, and pixels on a face 16 cm wide.
TEST(ViewPublished, TasksOfIec62676) {
  struct Row {
    std::string_view task;
    double mm_a_pixel;
    double px_a_metre;
    double px_a_face;
  };
  const std::vector<Row> rows = {{"monitor", 80, 12.5, 2},  {"detect", 40, 25, 4},
                                 {"observe", 16, 62.5, 10}, {"recognise", 8, 125, 20},
                                 {"identify", 4, 250, 40},  {"inspect", 1, 1000, 160}};
  ASSERT_EQ(rows.size(), tasks().size());
  for (const Row& row : rows) {
    const Task* task = find_task(row.task);
    ASSERT_NE(task, nullptr) << row.task;
    EXPECT_NEAR(1000 / task->density.value(), row.mm_a_pixel, 1e-9) << row.task;
    EXPECT_NEAR(task->density.value(), row.px_a_metre, 1e-9) << row.task;
    EXPECT_NEAR((task->density * 0.16_m).value(), row.px_a_face, 1e-9) << row.task;
  }
}

// The maker's datasheet v1.6 of the 2-megapixel quarter-inch sensor, as quoted by others: 15 frames a second
// at 1600 × 1200, 30 at 800 × 600; pixels of 2.2 µm. Lines a frame from memory.
TEST(ViewPublished, FramesASecondOfTheUsualSensor) {
  EXPECT_DOUBLE_EQ(usual_readout(1600, 1200)->rate.value(), 15);
  EXPECT_DOUBLE_EQ(usual_readout(800, 600)->rate.value(), 30);
  EXPECT_DOUBLE_EQ(usual_sensor().pixel.value(), 2.2e-6);
}

// Shutter times that photographers use under lamps on the mains: 1/100 and 1/50 s where it has 50 Hz, 1/120
// and 1/60 s where it has 60. Common practice, no source.
TEST(ViewPublished, CleanShutterTimes) {
  EXPECT_NEAR(1 / clean_exposure(50_Hz, 1).value(), 100, 1e-9);
  EXPECT_NEAR(1 / clean_exposure(50_Hz, 2).value(), 50, 1e-9);
  EXPECT_NEAR(1 / clean_exposure(60_Hz, 1).value(), 120, 1e-9);
  EXPECT_NEAR(1 / clean_exposure(60_Hz, 2).value(), 60, 1e-9);
}

}  // namespace
}  // namespace rookery::plan
