#include "intake/stamper_lives.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace goodside::intake {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;

std::string refusal(std::string_view text) {
  const auto lives = lives_from_csv(text, "lives.csv");
  if (lives) return {};
  EXPECT_EQ(lives.error().fault, Fault::bad_input);
  EXPECT_EQ(lives.error().text.find('\n'), std::string::npos);
  return lives.error().text;
}

TEST(StamperLives, AreReadFromASpreadsheetInAnyOrderOfColumns) {
  const auto lives = lives_from_csv(
      "cause;good_to;ended_by;stamper;press\nwear;1200;1350;S1;P1\n;900;;S2;\n;500;700;S3;P2\n",
      "lives.csv");
  ASSERT_TRUE(lives) << lives.error().text;
  ASSERT_EQ(lives->size(), 3U);
  EXPECT_EQ((*lives)[0].stamper, "S1");
  EXPECT_EQ((*lives)[0].good_to_closings, 1200.0);
  EXPECT_EQ((*lives)[0].ended_by_closings, 1350.0);
  EXPECT_EQ((*lives)[0].cause, works::LifeCause::wear);
  EXPECT_EQ((*lives)[0].press, "P1");
  EXPECT_FALSE((*lives)[1].ended_by_closings);
  EXPECT_FALSE((*lives)[2].cause);
}

// Property: what is written reads back.
TEST(StamperLives, WrittenAsATableReadBack) {
  const std::vector<works::StamperLife> lives{
      {.stamper = "S, \"one\"",
       .press = "P1",
       .facing = "bare",
       .good_to_closings = 10.5,
       .ended_by_closings = 20,
       .cause = works::LifeCause::loss},
      {.stamper = "S2", .material = "vinyl", .good_to_closings = 7}};
  const auto back = lives_from_csv(lives_csv(lives), "lives.csv");
  ASSERT_TRUE(back) << back.error().text;
  ASSERT_EQ(back->size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ((*back)[i].stamper, lives[i].stamper);
    EXPECT_EQ((*back)[i].good_to_closings, lives[i].good_to_closings);
    EXPECT_EQ((*back)[i].ended_by_closings, lives[i].ended_by_closings);
    EXPECT_EQ((*back)[i].cause, lives[i].cause);
    EXPECT_EQ((*back)[i].material, lives[i].material);
    EXPECT_EQ((*back)[i].facing, lives[i].facing);
  }
}

TEST(StamperLives, ATableThatCannotBeIsRefusedByLineAndColumn) {
  const std::string head = "stamper,good_to,ended_by,cause\n";
  EXPECT_THAT(refusal("stamper,godo_to,ended_by\n"), HasSubstr("did you mean `good_to`?"));
  EXPECT_THAT(refusal("stamper,good_to\nS1,5\n"), HasSubstr("ended_by is missing"));
  EXPECT_THAT(refusal(head), AllOf(StartsWith("lives.csv:2: "), HasSubstr("no stamper")));
  EXPECT_THAT(refusal(head + "S1,5,,\nS1,6,,\n"),
              AllOf(StartsWith("lives.csv:3: stamper: "), HasSubstr("before")));
  EXPECT_THAT(refusal(head + "S1,-5,,\n"), StartsWith("lives.csv:2: good_to: "));
  EXPECT_THAT(refusal(head + "S1,nan,,\n"), StartsWith("lives.csv:2: good_to: "));
  EXPECT_THAT(refusal(head + "S1,5 discs,,\n"), StartsWith("lives.csv:2: good_to: "));
  EXPECT_THAT(refusal(head + "S1,500,400,wear\n"), HasSubstr("ages run upwards"));
  EXPECT_THAT(refusal(head + "S1,0,0,wear\n"), HasSubstr("ages run upwards"));
  EXPECT_THAT(refusal(head + "S1,5,9,rust\n"), HasSubstr("none of wear, crack, damage, loss"));
  EXPECT_THAT(refusal(head + "S1,5,,wear\n"), HasSubstr("ended_by is empty"));
  EXPECT_THAT(refusal(head + ",5,,\n"), HasSubstr("name the stamper"));
  EXPECT_THAT(refusal(head + "S1,0,,\n"), HasSubstr("tell nothing"));
}

}  // namespace
}  // namespace goodside::intake
