#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "line/hear_capture.hpp"
#include "line/recordings.hpp"

namespace goodside::line {
namespace {

listen::Options lp() {
  listen::Options options;
  options.side.format = "12in-33";
  options.side.rpm = 100.0 / 3.0;
  options.side.outer_radius_m = 0.146;
  options.side.inner_radius_m = 0.06;
  options.limits.plain_faults_per_side = 2;
  return options;
}

// Open data: surface noise and scratches of an LP, jacbz/Lofi at 0e090ff, client/assets/samples/loops/vinyl/vinyl_01.mp3,
// Apache-2.0 (tests/published/record_noise/LICENSE). Second road: tests/published/record_noise/clicks.py, SciPy, which
// knows nothing of prediction: its five loudest clicks.
TEST(HearAlone, FindsTheClicksOfARealSurface) {
  const auto report =
      hear_alone({.capture = GOODSIDE_SOURCE_DIR "/tests/published/record_noise/lp_surface_01.mp3",
                  .options = lp()},
                 {});
  ASSERT_TRUE(report) << report.error().text;
  for (const double at_s : {0.7185, 5.6967, 7.5561, 8.4723, 9.384})
    EXPECT_TRUE(std::ranges::any_of(report->faults, [&](const works::FaultEvent& fault) {
      return std::abs(fault.capture_s - at_s) < 1.5e-3;
    })) << at_s;
  EXPECT_FALSE(report->verdict.pass);
  EXPECT_EQ(report->capture.sha256.size(), 64U);
  // A particle strikes a wall: few ticks of a surface are purely lateral.
  const auto lateral = std::ranges::count_if(report->faults, [](const works::FaultEvent& fault) {
    return fault.plane == works::Plane::lateral;
  });
  EXPECT_LT(2 * lateral, std::ssize(report->faults));
}

// The same open data. Second road: tests/published/record_noise/turn.py, SciPy, run on all three: 33.98 rpm (z 5.2, by
// chance 2e-5) and 33.98 (z 6.1, 2e-7), by steps of 5 ms, which are 0.1 rpm; the third holds no turn (z 2.6, by
// chance 1): none may be found.
TEST(HearAlone, FindsTheTurnOfARealSurfaceWhereThereIsOne) {
  const auto turn_of = [](const std::string& name) {
    const auto report = hear_alone(
        {.capture = GOODSIDE_SOURCE_DIR "/tests/published/record_noise/" + name, .options = lp()},
        {});
    EXPECT_TRUE(report) << report.error().text;
    return report ? report->turn : std::nullopt;
  };
  for (const char* name : {"lp_surface_01.mp3", "lp_surface_12.mp3"}) {
    const auto turn = turn_of(name);
    ASSERT_TRUE(turn) << name;
    EXPECT_NEAR(turn->rpm, 33.98, 0.1) << name;
    EXPECT_LT(turn->sigma_rpm, 0.05) << name;
    EXPECT_LT(turn->chance, 1e-3) << name;
    EXPECT_NEAR(turn->nominal_rpm.value_or(0.0), 100.0 / 3.0, 1e-9) << name;
  }
  EXPECT_FALSE(turn_of("lp_surface_25.mp3"));
}

TEST(HearAlone, RefusesWhatItCannotUse) {
  const test::Folder folder;
  const auto refused = [&](const Hearing& hearing, const std::string& what) {
    const auto report = hear_alone(hearing, {});
    ASSERT_FALSE(report);
    EXPECT_EQ(report.error().fault, Fault::bad_input) << report.error().text;
    EXPECT_NE(report.error().text.find(what), std::string::npos) << report.error().text;
  };
  refused({.capture = test::record(folder / "short.wav", 2.0), .options = lp()}, "short.wav");
  refused({.capture = test::record(folder / "silent.wav", 8.0, 2, 0.0F), .options = lp()},
          "silent.wav");
  auto marked = lp();
  marked.side.marks = {{.programme_s = 10.0, .radius_m = 0.14}};
  refused({.capture = test::record(folder / "whole.wav", 8.0), .options = marked}, "--reference");
}

TEST(HearAlone, HandsOnThatItWasStopped) {
  const test::Folder folder;
  const auto report =
      hear_alone({.capture = test::record(folder / "whole.wav", 8.0), .options = lp()},
                 [](double) { return false; });
  ASSERT_FALSE(report);
  EXPECT_EQ(report.error().fault, Fault::conflict);
}

}  // namespace
}  // namespace goodside::line
