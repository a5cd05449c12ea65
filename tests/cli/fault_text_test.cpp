#include "cli/fault_text.hpp"

#include <gtest/gtest.h>

namespace goodside::cli {
namespace {

TEST(FaultText, ReadsKindPlaceAndKeys) {
  const auto tick = fault_plan("tick@1:23.4");
  ASSERT_TRUE(tick.has_value()) << tick.error().text;
  EXPECT_EQ(tick->kind, works::PlannedKind::tick);
  EXPECT_DOUBLE_EQ(tick->programme_s, 83.4);
  EXPECT_FALSE(tick->peak_dB.has_value());

  const auto scratch =
      fault_plan("scratch@120mm/88,turns=8,peak=-12.5,duration=0.4ms,count=3,span=-5,channel=left");
  ASSERT_TRUE(scratch.has_value()) << scratch.error().text;
  EXPECT_EQ(scratch->kind, works::PlannedKind::scratch);
  EXPECT_DOUBLE_EQ(scratch->radius_m.value(), 0.12);
  EXPECT_DOUBLE_EQ(scratch->angle_deg.value(), 88.0);
  EXPECT_EQ(scratch->turns, 8);
  EXPECT_EQ(scratch->count, 3);
  EXPECT_DOUBLE_EQ(scratch->peak_dB.value(), -12.5);
  EXPECT_DOUBLE_EQ(scratch->duration_s, 0.4e-3);
  EXPECT_DOUBLE_EQ(scratch->span_deg, -5.0);
  EXPECT_EQ(scratch->channel, works::FaultChannel::left);
}

TEST(FaultText, SaysWhichPartIsWrong) {
  const auto expect_error = [](const char* text, const char* says) {
    const auto plan = fault_plan(text);
    ASSERT_FALSE(plan.has_value()) << text;
    EXPECT_NE(plan.error().text.find(says), std::string::npos) << plan.error().text;
  };
  expect_error("", "no place");
  expect_error("tick", "no place");
  expect_error("tock@1:23", "\"tock\" is none of tick");
  expect_error("tick@", "");
  expect_error("tick@soon", "soon");
  expect_error("tick@120mm/north", "north");
  expect_error("tick@1:23,", "none of peak");
  expect_error("tick@1:23,loud=1", "\"loud\"");
  expect_error("tick@1:23,turns", "whole number");
  expect_error("tick@1:23,turns=1.5", "1.5");
  expect_error("tick@1:23,turns=nan", "nan");
  expect_error("tick@1:23,peak=inf", "inf");
  expect_error("tick@1:23,channel=up", "left, right, both");
}

}  // namespace
}  // namespace goodside::cli
