#include "serve/recording.hpp"

#include <gtest/gtest.h>

#include <chrono>
#include <cmath>
#include <future>
#include <random>

#include "intake/audio_file.hpp"
#include "intake/temporary_folder.hpp"

namespace goodside::serve {
namespace {

using State = listen::GrooveWatch::State;
using End = listen::GrooveWatch::End;

constexpr int rate_Hz = 24'000;

/// An interface that plays what it was told: so many seconds at such a level, overruns, its end.
class ScriptedCard final : public SoundCard {
 public:
  struct Part {
    double seconds{}, level{};
    bool overrun{}, gone{};
  };
  explicit ScriptedCard(std::vector<Part> parts) : parts_{std::move(parts)} {}

  [[nodiscard]] Format format() const override { return {rate_Hz, 2}; }
  Result<Taken> take(std::span<float> interleaved) override {
    while (part_ < parts_.size() && !parts_[part_].gone && played_ >= frames_of(parts_[part_])) {
      ++part_;
      played_ = 0;
      if (part_ < parts_.size() && parts_[part_].overrun) return Taken{.overrun = true};
    }
    if (part_ < parts_.size() && parts_[part_].gone)
      return Error{Fault::io, "the audio interface is gone (No such device)"};
    const double level = part_ < parts_.size() ? parts_[part_].level : floor_level;
    const std::size_t frames = interleaved.size() / 2;
    for (std::size_t k = 0; k < 2 * frames; ++k)
      interleaved[k] = static_cast<float>(
          std::clamp(level * (static_cast<double>(draw_()) / 2147483648.0 - 1.0), -1.0, 1.0));
    played_ += frames;
    return Taken{.frames = frames};
  }
  static constexpr double floor_level = 1e-4;

 private:
  static std::size_t frames_of(const Part& part) {
    return static_cast<std::size_t>(part.seconds * rate_Hz);
  }
  std::vector<Part> parts_;
  std::size_t part_{}, played_{};
  std::mt19937 draw_{5};
};

constexpr double floor_level = ScriptedCard::floor_level;

struct Recorded {
  Recording::Now now;
  double file_s{};
};

/// Records to its end.
Recorded record(std::vector<ScriptedCard::Part> parts, std::optional<double> programme_s = 20.0) {
  const auto folder = intake::TemporaryFolder::create();
  EXPECT_TRUE(folder);
  const std::string path = folder->file("side.wav");
  std::promise<void> ended;
  auto recording = Recording::start(std::make_unique<ScriptedCard>(std::move(parts)),
                                    {.path = path, .programme_s = programme_s},
                                    [&] { ended.set_value(); });
  EXPECT_TRUE(recording) << recording.error().text;
  EXPECT_EQ(ended.get_future().wait_for(std::chrono::seconds{60}), std::future_status::ready);
  Recorded recorded{.now = (*recording)->now()};
  recording->reset();
  if (const auto audio = intake::open_audio(path))
    recorded.file_s = static_cast<double>((*audio)->frames()) / rate_Hz;
  return recorded;
}

TEST(RecordingASide, KeepsWhatCameBeforeTheStylusAndEndsByItself) {
  const auto [now, file_s] = record({{3.0, floor_level}, {21.0, 0.05}});
  EXPECT_EQ(now.state, State::ended);
  EXPECT_EQ(now.end, End::lifted);
  EXPECT_TRUE(now.error.empty()) << now.error;
  EXPECT_TRUE(now.overruns_s.empty());
  // Two seconds before, what the watch needs to be sure, the side, one second behind it.
  EXPECT_NEAR(file_s, 2.0 + 21.0 + 1.0, 1.3);
  EXPECT_GE(file_s, 2.0 + 21.0);
  EXPECT_DOUBLE_EQ(now.kept_s, file_s);
  ASSERT_EQ(now.highest_dB.size(), 2U);
  EXPECT_NEAR(now.highest_dB[0], 20.0 * std::log10(0.05), 0.1);
}

TEST(RecordingASide, TellsWhereSoundWasLost) {
  const auto [now, file_s] =
      record({{3.0, floor_level}, {5.0, 0.05}, {16.0, 0.05, true}, {0.1, floor_level, true}});
  ASSERT_EQ(now.overruns_s.size(), 2U);
  EXPECT_NEAR(now.overruns_s[0], 2.0 + 5.0, 1.3);
  EXPECT_NEAR(now.overruns_s[1] - now.overruns_s[0], 16.0, 0.1);
  EXPECT_EQ(now.end, End::lifted);
  EXPECT_GT(file_s, 20.0);
}

TEST(RecordingASide, BeforeTheStylusIsDownNothingIsLost) {
  const auto recorded = record(
      {{3.0, floor_level}, {2.0, floor_level, true}, {2.0, floor_level, true}, {21.0, 0.05}});
  EXPECT_TRUE(recorded.now.overruns_s.empty());
  EXPECT_NEAR(recorded.file_s, 2.0 + 21.0 + 1.0, 1.3);
}

TEST(RecordingASide, KeepsWhatItHasWhenTheInterfaceIsPulledOut) {
  const auto [now, file_s] = record({{3.0, floor_level}, {9.0, 0.05}, {.gone = true}});
  EXPECT_EQ(now.state, State::ended);
  EXPECT_EQ(now.error, "the audio interface is gone (No such device)");
  EXPECT_NEAR(file_s, 2.0 + 9.0, 1.3);
}

TEST(RecordingASide, ForgetsABrushedStylus) {
  const auto [now, file_s] =
      record({{3.0, floor_level}, {3.0, 0.9}, {12.0, floor_level}, {21.0, 0.05}});
  EXPECT_EQ(now.false_starts, 1);
  EXPECT_NEAR(file_s, 2.0 + 21.0 + 1.0, 1.3);
  EXPECT_NEAR(now.highest_dB[0], 20.0 * std::log10(0.05), 0.1);  // the brush's is forgotten too
}

TEST(RecordingASide, CountsWhatIsTooLoud) {
  const auto loud = record({{3.0, floor_level}, {21.0, 40.0}});
  EXPECT_GT(loud.now.clipped, 1000);
  EXPECT_EQ(record({{3.0, floor_level}, {21.0, 0.99}}).now.clipped, 0);
}

TEST(RecordingASide, IsBrokenOffAtOnceAndKeepsItsFile) {
  const auto folder = intake::TemporaryFolder::create();
  const std::string path = folder->file("side.wav");
  bool ended = false;
  {
    auto recording =
        Recording::start(std::make_unique<ScriptedCard>(
                             std::vector<ScriptedCard::Part>{{3.0, floor_level}, {1e6, 0.05}}),
                         {.path = path, .programme_s = 1e5},
                         [&] { ended = true; });
    ASSERT_TRUE(recording);
    while ((*recording)->now().kept_s < 5.0) std::this_thread::yield();
  }
  EXPECT_TRUE(ended);
  const auto audio = intake::open_audio(path);
  ASSERT_TRUE(audio) << audio.error().text;
  EXPECT_GE((*audio)->frames(), 5 * rate_Hz);
}

}  // namespace
}  // namespace goodside::serve
