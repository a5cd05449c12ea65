#include "intake/pitch_profile.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace goodside::intake {
namespace {

using testing::DoubleEq;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Pair;
using testing::StartsWith;

std::string refusal(std::string_view text) {
  const auto profile = pitch_profile_from_csv(text, "pitch.csv");
  return profile ? std::string{} : profile.error().text;
}

TEST(PitchProfile, TakesSecondsOrClockReadingsAndTheUnitOfItsHeading) {
  const auto expected =
      ElementsAre(Pair(DoubleEq(0.0), DoubleEq(1e-4)), Pair(DoubleEq(90.5), DoubleEq(1.25e-4)));
  for (const char* text :
       {"0,0.0001\n90.5,0.000125\n",
        "programme_s,pitch_um\n0,100\n90.5,125\n",
        "\xEF\xBB\xBFtime;pitch (mm)\r\n0:00;0.1\r\n1:30.5;0.125\r\n",
        "# from the lathe\n\nTime\tPitch [µm]\n 0 \t 100 \n# later\n01:30.5\t125",
        "programme_s,pitch_m\n0,1e-4\n90.5,1.25e-4"}) {
    const auto profile = pitch_profile_from_csv(text, "pitch.csv");
    ASSERT_TRUE(profile) << profile.error().text;
    EXPECT_THAT(*profile, expected) << text;
  }
}

TEST(PitchProfile, RefusesASlipWithItsLine) {
  EXPECT_THAT(refusal("0,1e-4\n5,1e-4\n5,1e-4\n"),
              StartsWith("pitch.csv:3: the time is not later"));
  EXPECT_THAT(refusal("0,1e-4\n9,1e-4\n5,1e-4\n"), StartsWith("pitch.csv:3: "));
  EXPECT_THAT(refusal("-1,1e-4\n5,1e-4\n"), StartsWith("pitch.csv:1: the time -1 s"));
  EXPECT_THAT(refusal("0,-1e-4\n5,1e-4\n"), StartsWith("pitch.csv:1: a pitch of -0.0001 m"));
  EXPECT_THAT(refusal("t,pitch_um\n0,100\n1,nan\n"),
              StartsWith("pitch.csv:3: the pitch is no number"));
  EXPECT_THAT(refusal("nan,1e-4\n1,1e-4\n"), StartsWith("pitch.csv:1: the time is no number"));
  EXPECT_THAT(refusal("0,1e-4\ninf,1e-4\n"), StartsWith("pitch.csv:2: the time is no number"));
  EXPECT_THAT(refusal("0,100\n1,100\n"), HasSubstr("see to the unit"));
  EXPECT_THAT(refusal("t,pitch\n0,100\n"), StartsWith("pitch.csv:1: a heading without"));
  EXPECT_THAT(refusal("0 1e-4\n"), HasSubstr("not two columns"));
  EXPECT_THAT(refusal("0,1e-4,3\n"), HasSubstr("not two columns"));
  EXPECT_THAT(refusal("0,1e-4 m\n"), HasSubstr("the pitch is no number"));
  EXPECT_THAT(refusal("0,1e-4\n"), HasSubstr("fewer than two points"));
  EXPECT_THAT(refusal(""), HasSubstr("fewer than two points"));
}

}  // namespace
}  // namespace goodside::intake
