#include "draw/words.hpp"

#include <gtest/gtest.h>

namespace goodside::draw {
namespace {

TEST(Clock, CarriesRoundedMilliseconds) {
  EXPECT_EQ(clock_ms(83.4561), "1:23.456");
  EXPECT_EQ(clock_ms(59.9996), "1:00.000");
  EXPECT_EQ(clock_ms(-0.5), "-0:00.500");
  EXPECT_EQ(clock_ms(-0.0001), "0:00.000");
  EXPECT_EQ(clock_ms(3725.0), "62:05.000");
  EXPECT_EQ(clock_s(119.6), "2:00");
}

TEST(Degrees, NeverReachAWholeTurn) {
  EXPECT_EQ(degrees(359.4), "359°");
  EXPECT_EQ(degrees(359.6), "0°");
  EXPECT_EQ(degrees(-0.2), "0°");
  EXPECT_EQ(degrees(-90.0), "270°");
}

works::FaultEvent fault(works::FaultKind kind, works::Audibility audibility, double peak_dB) {
  works::FaultEvent event;
  event.kind = kind;
  event.peak_dB = peak_dB;
  event.audibility = audibility;
  return event;
}

TEST(WorstFirst, PutsJumpsThenPlainThenLoud) {
  using works::Audibility;
  using works::FaultKind;
  EXPECT_EQ(worst_first({fault(FaultKind::tick, Audibility::slight, -3.0),
                         fault(FaultKind::tick, Audibility::plain, -30.0),
                         fault(FaultKind::pop, Audibility::plain, -10.0),
                         fault(FaultKind::jump, Audibility::slight, -40.0)}),
            (std::vector<std::size_t>{3, 2, 1, 0}));
}

TEST(StandingOf, TellsTheFourWaysAHearingEnds) {
  works::ListeningReport report;
  EXPECT_EQ(standing(report), Standing::unjudged);
  report.alignment = works::Alignment{};
  EXPECT_EQ(standing(report), Standing::not_this_cut);
  report.alignment->found = true;
  EXPECT_EQ(standing(report), Standing::out);
  report.verdict.pass = true;
  EXPECT_EQ(standing(report), Standing::good);
}

TEST(FileName, IsThePartAfterTheLastSlash) {
  EXPECT_EQ(file_name("captures/a side.wav"), "a side.wav");
  EXPECT_EQ(file_name("x.wav"), "x.wav");
}

}  // namespace
}  // namespace goodside::draw
