#include "json/truth.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace goodside::json {
namespace {

works::Truth truth() {
  works::Truth truth;
  truth.frames = 96000;
  truth.sample_rate_Hz = 48000.0;
  truth.programme_start_s = 0.25;
  truth.eccentricity_m = 2e-4;
  truth.geometry = {"7in-45", 45.0, 0.08415, 0.077, 2e-4};
  truth.stretches = {{0.0, 2.0, -0.25, 1.75}};
  truth.track_programme_s = {-0.25, -0.24};
  works::TrueFault scratch;
  scratch.kind = works::FaultKind::tick;
  scratch.capture_s = 0.5;
  scratch.channel = works::FaultChannel::left;
  scratch.plan = 3;
  scratch.pattern = works::PatternKind::radial;
  works::TrueFault jump;
  jump.kind = works::FaultKind::jump;
  jump.capture_s = 1.0;
  jump.programme_jump_s = 8.0 / 3.0;
  truth.faults = {scratch, jump};
  return truth;
}

TEST(Truth, IsWrittenWithWordsUnitsAndNulls) {
  const auto json = nlohmann::json::parse(write(truth()));
  EXPECT_EQ(json.at("schema"), "goodside.truth/1");
  EXPECT_EQ(json.at("frames"), 96000);
  EXPECT_EQ(json.at("eccentricity_m"), 2e-4);
  EXPECT_EQ(json.at("geometry").at("format"), "7in-45");
  EXPECT_EQ(json.at("stretches").at(0).at("programme_from_s"), -0.25);
  EXPECT_EQ(json.at("track_programme_s").size(), 2U);
  const auto& scratch = json.at("faults").at(0);
  EXPECT_EQ(scratch.at("kind"), "tick");
  EXPECT_EQ(scratch.at("channel"), "left");
  EXPECT_EQ(scratch.at("pattern"), "radial");
  EXPECT_EQ(scratch.at("plan"), 3);
  EXPECT_TRUE(scratch.at("programme_jump_s").is_null());
  const auto& jump = json.at("faults").at(1);
  EXPECT_EQ(jump.at("kind"), "jump");
  EXPECT_EQ(jump.at("programme_jump_s"), 2.666666667);
  EXPECT_TRUE(jump.at("plan").is_null());
  EXPECT_TRUE(jump.at("pattern").is_null());
}

TEST(Truth, EqualTruthsGiveEqualBytes) {
  works::Truth other = truth();
  other.speed_error_ppm = -0.0;  // a sign that means nothing
  EXPECT_EQ(write(truth()), write(other));
}

}  // namespace
}  // namespace goodside::json
