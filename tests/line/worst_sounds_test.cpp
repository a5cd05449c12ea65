#include "line/worst_sounds.hpp"

#include <gtest/gtest.h>

#include "draw/sample_reports.hpp"
#include "line/recordings.hpp"

namespace goodside::line {
namespace {

works::ListeningReport report_of(std::initializer_list<double> fault_s) {
  works::ListeningReport report;
  report.capture.duration_s = 12.0;
  int id = 0;
  for (const double at_s : fault_s) {
    ++id;
    report.faults.push_back(draw::samples::fault(id, works::FaultKind::tick, 0.0, -10.0 - id));
    report.faults.back().capture_s = at_s;
  }
  return report;
}

Hearing hearing_of(const std::string& capture) {
  Hearing hearing;
  hearing.capture = capture;
  return hearing;
}

TEST(WorstSounds, HoldTwoSecondsWithEachFaultInThem) {
  const test::Folder folder;
  const Hearing hearing = hearing_of(test::record(folder / "capture.wav", 12.0));
  const auto report = report_of({0.1, 5.0, 11.9});
  const auto sounds = worst_sounds(hearing, report, std::nullopt).value();
  ASSERT_EQ(sounds.size(), 3U);
  for (const auto& sound : sounds) {
    const double at_s = report.faults[sound.fault].capture_s;
    EXPECT_GE(at_s, sound.from_s);
    EXPECT_LE(at_s, sound.to_s);
    EXPECT_GE(sound.from_s, 0.0);
    EXPECT_LE(sound.to_s, 12.0);
    EXPECT_EQ(sound.capture.size(), 44U + 2U * 96000U);
    EXPECT_TRUE(sound.cut.empty() && sound.difference.empty());
  }
}

TEST(WorstSounds, PassOverAFaultThatIsHeardAlreadyAndStopAtFour) {
  const test::Folder folder;
  const Hearing hearing = hearing_of(test::record(folder / "capture.wav", 12.0));
  const auto sounds =
      worst_sounds(hearing, report_of({5.0, 5.01, 5.9, 1.0, 3.0, 7.0, 9.0, 11.0}), std::nullopt)
          .value();
  ASSERT_EQ(sounds.size(), most_sounds);
  EXPECT_EQ(sounds[0].fault, 0U);
  EXPECT_EQ(sounds[1].fault, 3U);
}

TEST(WorstSounds, LetOneStandForItsPattern) {
  const test::Folder folder;
  const Hearing hearing = hearing_of(test::record(folder / "capture.wav", 12.0));
  auto report = report_of({1.0, 4.0, 7.0, 10.0});
  report.faults[0].pattern = report.faults[1].pattern = report.faults[3].pattern = 1;
  const auto sounds = worst_sounds(hearing, report, std::nullopt).value();
  ASSERT_EQ(sounds.size(), 2U);
  EXPECT_EQ(sounds[0].fault, 0U);
  EXPECT_EQ(sounds[1].fault, 2U);
}

TEST(WorstSounds, NameTheChannelOfTheFault) {
  const test::Folder folder;
  const Hearing hearing = hearing_of(test::record(folder / "capture.wav", 12.0));
  auto report = report_of({5.0});
  report.faults[0].channel = works::FaultChannel::right;
  EXPECT_EQ(worst_sounds(hearing, report, std::nullopt).value().at(0).channel, "right");
  report.faults[0].channel = works::FaultChannel::left;
  EXPECT_EQ(worst_sounds(hearing, report, std::nullopt).value().at(0).channel, "left");
}

TEST(WorstSounds, AskForNoFileWhereNothingIsToBeHeard) {
  EXPECT_TRUE(worst_sounds(hearing_of("gone.wav"), report_of({}), std::nullopt).value().empty());
  EXPECT_EQ(worst_sounds(hearing_of("gone.wav"), report_of({1.0}), std::nullopt).error().fault,
            Fault::not_found);
}

}  // namespace
}  // namespace goodside::line
