#include "line/hear_capture.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <vector>

#include "intake/digest.hpp"
#include "line/recordings.hpp"

namespace goodside::line {
namespace {

bool silent(const signal::SampleSource& source) {
  auto again = source.again();
  std::vector<float> samples(
      static_cast<std::size_t>(source.frames() * static_cast<std::int64_t>(source.channels())));
  EXPECT_TRUE((*again)->read(0, samples));
  return std::ranges::all_of(samples, [](float sample) { return sample == 0.0F; });
}

/// An engine that keeps what it was given and finds nothing.
struct Deaf {
  listen::Options given;
  int calls{};

  Engine engine() {
    return [this](const signal::SampleSource& capture,
                  const signal::SampleSource& reference,
                  const listen::Options& options,
                  const listen::Progress& progress) -> Result<works::ListeningReport> {
      ++calls;
      given = options;
      EXPECT_GT(capture.frames(), 0);
      EXPECT_GT(reference.frames(), 0);
      if (!progress(0.5)) return Error{Fault::conflict, "stopped"};
      for (const signal::SampleSource* source : {&capture, &reference})
        if (silent(*source)) return Error{Fault::bad_input, "every sample is zero"};
      return works::ListeningReport{};
    };
  }
};

listen::Options lp() {
  listen::Options options;
  options.side.rpm = 100.0 / 3.0;
  options.side.outer_radius_m = 0.146;
  options.side.inner_radius_m = 0.06;
  return options;
}

bool keep_on(double) {
  return true;
}

TEST(HearCapture, NamesBothFilesWithTheirDigestAndKind) {
  const test::Folder folder;
  const Hearing hearing{.capture = test::record(folder / "capture.wav", 2.0),
                        .reference = test::record(folder / "cut.wav", 1.5, 1),
                        .kind = works::ReferenceKind::mother,
                        .options = lp()};
  Deaf deaf;
  const auto report = hear_capture(hearing, deaf.engine(), keep_on);
  ASSERT_TRUE(report.has_value()) << report.error().text;
  EXPECT_EQ(report->capture.path, hearing.capture);
  EXPECT_EQ(report->capture.sha256, intake::sha256_of_file(hearing.capture).value());
  EXPECT_EQ(report->capture.channels, 2);
  EXPECT_DOUBLE_EQ(report->capture.duration_s, 2.0);
  EXPECT_EQ(report->reference.value().file.sha256,
            intake::sha256_of_file(hearing.reference).value());
  EXPECT_EQ(report->reference.value().kind, works::ReferenceKind::mother);
  EXPECT_FALSE(deaf.given.side.stereo) << "a reference of one channel is a lateral cut";
}

TEST(HearCapture, RefusesAFileThatIsNotThereBeforeAnythingIsHeard) {
  const test::Folder folder;
  const std::string here = test::record(folder / "here.wav", 1.0);
  Deaf deaf;
  for (const auto& [capture, reference] :
       {std::pair{here, folder / "gone.wav"}, {folder / "gone.wav", here}}) {
    const auto report = hear_capture(
        {.capture = capture, .reference = reference, .options = lp()}, deaf.engine(), keep_on);
    ASSERT_FALSE(report.has_value());
    EXPECT_EQ(report.error().fault, Fault::not_found);
    EXPECT_NE(report.error().text.find("gone.wav"), std::string::npos) << report.error().text;
  }
  EXPECT_EQ(deaf.calls, 0);
}

TEST(HearCapture, TellsASilentCaptureFromASilentReference) {
  const test::Folder folder;
  const std::string loud = test::record(folder / "loud.wav", 1.0);
  const std::string silent = test::record(folder / "silent.wav", 1.0, 2, 0.0F);
  Deaf deaf;
  for (const auto& [capture, reference] : {std::pair{silent, loud}, {loud, silent}}) {
    const auto report = hear_capture(
        {.capture = capture, .reference = reference, .options = lp()}, deaf.engine(), keep_on);
    ASSERT_FALSE(report.has_value());
    EXPECT_EQ(report.error().fault, Fault::bad_input);
    EXPECT_NE(report.error().text.find("silent.wav"), std::string::npos) << report.error().text;
  }
}

TEST(HearCapture, RemarksOnAClippedCapture) {
  const test::Folder folder;
  Deaf deaf;
  const auto report = hear_capture({.capture = test::record(folder / "hot.wav", 1.0, 2, 3.0F),
                                    .reference = test::record(folder / "cut.wav", 1.0),
                                    .options = lp()},
                                   deaf.engine(),
                                   keep_on);
  ASSERT_TRUE(report.has_value()) << report.error().text;
  ASSERT_FALSE(report->remarks.empty());
  EXPECT_NE(report->remarks.front().find("hot.wav"), std::string::npos) << report->remarks.front();
}

// Second road: a tone of 440 Hz, settled, is lifted by what the curve's time constants say. A
// reference that was cut stays as it is; one that was played is heard through the curve too.
TEST(HearCapture, HearsFlatCapturesThroughThePlaybackCurve) {
  const test::Folder folder;
  const auto peak = [](const signal::SampleSource& source) {
    auto again = source.again();
    std::vector<float> samples(2 * 4000);
    EXPECT_TRUE((*again)->read(6000, samples));
    return static_cast<double>(std::ranges::max(samples));
  };
  double heard = 0.0, cut = 0.0;
  const Engine engine = [&](const signal::SampleSource& capture,
                            const signal::SampleSource& reference,
                            const listen::Options&,
                            const listen::Progress&) -> Result<works::ListeningReport> {
    heard = peak(capture);
    cut = peak(reference);
    return works::ListeningReport{};
  };
  Hearing hearing{.capture = test::record(folder / "flat.wav", 2.0),
                  .reference = test::record(folder / "cut.wav", 2.0),
                  .options = lp(),
                  .equalise = *disc::curve("iec-60098")};
  const auto report = hear_capture(hearing, engine, keep_on);
  ASSERT_TRUE(report.has_value()) << report.error().text;
  const double lift = std::pow(
      10.0, disc::playback_gain_dB(*hearing.equalise, 0.3456 * 8000.0 / 6.28318531) / 20.0);
  EXPECT_NEAR(heard, 0.25 * lift, 0.01 * 0.25 * lift);
  EXPECT_NEAR(cut, 0.25, 0.001);
  const auto remarked = [](const works::ListeningReport& given, const std::string& what) {
    return std::ranges::any_of(given.remarks, [&](const std::string& remark) {
      return remark.find(what) != std::string::npos;
    });
  };
  EXPECT_TRUE(remarked(*report, "iec-60098 (3180/318/75 us)"));

  hearing.kind = works::ReferenceKind::mother;
  ASSERT_TRUE(hear_capture(hearing, engine, keep_on).has_value());
  EXPECT_NEAR(cut, 0.25 * lift, 0.01 * 0.25 * lift);
  hearing.equalise = *disc::curve("flat");
  const auto already = hear_capture(hearing, engine, keep_on);
  ASSERT_TRUE(already.has_value());
  EXPECT_FALSE(remarked(*already, "playback curve"));
  EXPECT_NEAR(heard, 0.25, 0.001);
}

TEST(HearCapture, HandsOnThatItWasStopped) {
  const test::Folder folder;
  const Hearing hearing{.capture = test::record(folder / "capture.wav", 1.0),
                        .reference = test::record(folder / "cut.wav", 1.0),
                        .options = lp()};
  Deaf deaf;
  const auto report = hear_capture(hearing, deaf.engine(), [](double) { return false; });
  ASSERT_FALSE(report.has_value());
  EXPECT_EQ(report.error().fault, Fault::conflict);
}

// By hand: 10 min at 33 1/3 rpm are 333 1/3 turns; at 0.12 mm they take 40 mm.
TEST(Completed, WorksOutTheInnerRadiusOrThePitch) {
  works::CutSide side = lp().side;
  side.inner_radius_m = 0.0;
  side.pitch_m = 1.2e-4;
  EXPECT_NEAR(completed(side, 600.0, false).value().side.inner_radius_m, 0.106, 1e-12);
  side.inner_radius_m = 0.106;
  side.pitch_m = 0.0;
  EXPECT_NEAR(completed(side, 600.0, false).value().side.pitch_m, 1.2e-4, 1e-15);
}

// By hand: a minute at 33 1/3 rpm is 33 1/3 turns, 3.5 mm at the usual 0.106 mm.
TEST(Completed, LaysAShortProgrammeAtTheUsualPitchAndSaysSo) {
  const auto brief = completed(lp().side, 60.0, true);
  EXPECT_NEAR(brief.value().side.inner_radius_m, 0.146 - 33.0 * 1.06e-4, 1e-4);
  EXPECT_NE(brief.value().remark.find("0.106 mm"), std::string::npos) << brief.value().remark;
  const auto whole = completed(lp().side, 1200.0, true);
  EXPECT_DOUBLE_EQ(whole.value().side.inner_radius_m, 0.06);
  EXPECT_EQ(whole.value().remark, "");
}

TEST(Completed, RemarksOnAnUnlikelyPitch) {
  EXPECT_NE(completed(lp().side, 60.0, false).value().remark.find("unlikely pitch of 2.580 mm"),
            std::string::npos);
}

TEST(Completed, RefusesASideThatRunsIntoTheLabelOrOutwards) {
  works::CutSide side = lp().side;
  side.inner_radius_m = 0.0;
  side.pitch_m = 5e-4;
  const auto inside = completed(side, 600.0, false);
  ASSERT_FALSE(inside.has_value());
  EXPECT_NE(inside.error().text.find("--pitch"), std::string::npos);
  side.inner_radius_m = 0.15;
  const auto outwards = completed(side, 600.0, false);
  ASSERT_FALSE(outwards.has_value());
  EXPECT_NE(outwards.error().text.find("150.0 mm"), std::string::npos) << outwards.error().text;
}

}  // namespace
}  // namespace goodside::line
