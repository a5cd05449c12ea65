#include "listen/consensus.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <memory>
#include <numbers>
#include <vector>

#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

constexpr double rate_Hz = 44100.0;
constexpr double cut_s = 16.0;
constexpr double turn_s = 1.8;
constexpr double shared_s = 9.0;                      // a tick of the metal
constexpr float tick[] = {0.8F, -0.6F, 0.3F, -0.1F};  // far over the programme's own steps

/// A recording held in memory; `again` shares it.
class Held final : public signal::SampleSource {
 public:
  using Samples = std::shared_ptr<const std::vector<float>>;
  explicit Held(Samples interleaved) : samples_{std::move(interleaved)} {}
  [[nodiscard]] double sample_rate_Hz() const override { return rate_Hz; }
  [[nodiscard]] int channels() const override { return 2; }
  [[nodiscard]] std::int64_t frames() const override { return std::ssize(*samples_) / 2; }
  Outcome read(std::int64_t from, std::span<float> interleaved) override {
    for (std::size_t k = 0; k < interleaved.size(); ++k) {
      const std::int64_t at = 2 * from + static_cast<std::int64_t>(k);
      interleaved[k] =
          at >= 0 && at < std::ssize(*samples_) ? (*samples_)[static_cast<std::size_t>(at)] : 0.0F;
    }
    return Done{};
  }
  [[nodiscard]] Result<std::unique_ptr<SampleSource>> again() const override {
    return std::unique_ptr<SampleSource>{std::make_unique<Held>(samples_)};
  }

 private:
  Samples samples_;
};

simulated::Stereo title(std::uint32_t seed) {
  constexpr auto size = static_cast<std::size_t>(cut_s * rate_Hz);
  simulated::Stereo sides;
  const auto middle = simulated::programme(size, rate_Hz, 0.06, 20.0, seed);
  for (std::uint32_t c = 0; c < 2; ++c) {
    sides[c] = simulated::programme(size, rate_Hz, 0.04, 20.0, seed + 1 + c);
    simulated::add(sides[c], middle, 1.0);
    for (std::size_t j = 0; j < std::size(tick); ++j)
      sides[c][static_cast<std::size_t>(shared_s * rate_Hz) + j] += tick[j];
  }
  return sides;
}

struct Disc {
  double start_s{}, sway_s{}, phase{},
      own_tick_s{};  ///< programme time = t - start + sway sin(turn + phase)
  std::uint32_t noise{};
};
constexpr Disc discs[] = {
    {1.0, 2e-4, 0.3, 4.0, 10}, {1.3, 3e-4, 2.4, 6.5, 20}, {0.7, 2.5e-4, 4.4, 12.0, 30}};

double programme_at(const Disc& disc, double capture_s) {
  return capture_s - disc.start_s +
         disc.sway_s * std::sin(2.0 * std::numbers::pi * capture_s / turn_s + disc.phase);
}

/// The cut as this disc plays it; between its samples by a windowed sinc, apart from the engine's own.
Held::Samples played(const simulated::Stereo& cut, const Disc& disc) {
  constexpr auto size = static_cast<std::size_t>((cut_s + 2.0) * rate_Hz);
  std::vector<float> out(2 * size);
  simulated::Noise noise{disc.noise};
  for (std::size_t n = 0; n < size; ++n) {
    const double at = programme_at(disc, static_cast<double>(n) / rate_Hz) * rate_Hz;
    const auto below = static_cast<std::ptrdiff_t>(std::floor(at));
    for (std::size_t c = 0; c < 2; ++c) {
      double sum = 3e-4 * noise();
      for (std::ptrdiff_t k = below - 15; k <= below + 16; ++k) {
        if (k < 0 || k >= std::ssize(cut[c])) continue;
        const double x = at - static_cast<double>(k);
        const double sinc =
            std::abs(x) < 1e-9 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
        sum += static_cast<double>(cut[c][static_cast<std::size_t>(k)]) * sinc *
               std::pow(std::cos(std::numbers::pi * x / 34.0), 2.0);
      }
      out[2 * n + c] = static_cast<float>(sum);
    }
  }
  const auto own = static_cast<std::size_t>((disc.own_tick_s + disc.start_s) * rate_Hz);
  for (std::size_t j = 0; j < std::size(tick); ++j) out[2 * (own + j)] += tick[j];
  return std::make_shared<const std::vector<float>>(std::move(out));
}

bool keep_on(double) {
  return true;
}

class ConsensusOfThree : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    const auto cut = title(1);
    for (const Disc& disc : discs) captures_.push_back(std::make_unique<Held>(played(cut, disc)));
  }
  static void TearDownTestSuite() { captures_.clear(); }
  static std::vector<Peer> peers() {
    std::vector<Peer> all;
    for (std::size_t i = 0; i < captures_.size(); ++i)
      all.push_back({captures_[i].get(), "disc " + std::to_string(i)});
    return all;
  }
  static std::vector<float> rendered(std::optional<std::size_t> without, int jobs) {
    const auto consensus = Consensus::follow(peers(), {turn_s, jobs}, keep_on);
    EXPECT_TRUE(consensus) << consensus.error().text;
    std::vector<float> out;
    const Rendering rendering{without, [&](std::span<const float> samples) -> Outcome {
                                out.insert(out.end(), samples.begin(), samples.end());
                                return Done{};
                              }};
    const auto counts = consensus->render(std::span{&rendering, 1}, keep_on);
    EXPECT_TRUE(counts) << counts.error().text;
    EXPECT_EQ(std::ssize(out), 2 * consensus->frames());
    return out;
  }
  /// The sharpest step of the left channel within 20 ms of a moment of the programme.
  static double step_at(const std::vector<float>& out, double programme_s, double begins_s) {
    const auto middle = static_cast<std::size_t>((programme_s + begins_s) * rate_Hz);
    double most = 0.0;
    for (std::size_t n = middle - 882; n < middle + 882; ++n)
      most = std::max(
          most, std::abs(static_cast<double>(out[2 * n] - 2.0F * out[2 * n + 2] + out[2 * n + 4])));
    return most;
  }
  static inline std::vector<std::unique_ptr<Held>> captures_;
};

TEST_F(ConsensusOfThree, VotesOutWhatIsOneDiscsAndKeepsWhatAllShare) {
  const auto consensus = Consensus::follow(peers(), {turn_s, 2}, keep_on);
  ASSERT_TRUE(consensus) << consensus.error().text;
  // Where the common time is at a moment of the programme: the first disc's time tells, to its sway of 0.2 ms.
  const Voice& voice = consensus->time().voices[0];
  double begins_s = 0.5;
  for (int step = 0; step < 5; ++step)
    begins_s +=
        8.0 + discs[0].start_s - voice.at(8.0 + begins_s)->capture_s.programme_at(8.0 + begins_s);
  EXPECT_GE(begins_s, 0.0);
  EXPECT_LE(begins_s, 0.6) << "half a second of the groove before the programme is kept";
  for (const std::optional<std::size_t> without :
       {std::optional<std::size_t>{}, std::optional<std::size_t>{1}}) {
    const auto out = rendered(without, 2);
    const double kept = step_at(out, shared_s, begins_s);
    EXPECT_GT(kept, 1.0);
    for (const Disc& disc : discs)
      EXPECT_LT(step_at(out, disc.own_tick_s, begins_s), 0.1 * kept) << disc.own_tick_s;
  }
}

TEST_F(ConsensusOfThree, GivesOneAnswerForAnyNumberOfJobs) {
  EXPECT_EQ(rendered(0, 1), rendered(0, 3));
}

// The sways of the three discs by chance add up to less than each alone.
TEST_F(ConsensusOfThree, TakesNoDiscsSwayForItsOwnTime) {
  const auto consensus = Consensus::follow(peers(), {turn_s, 2}, keep_on);
  ASSERT_TRUE(consensus) << consensus.error().text;
  std::complex<double> mean{};
  const auto sway_of = [](const Disc& disc) {  // along the groove
    return std::polar(disc.sway_s, disc.phase + 2.0 * std::numbers::pi * disc.start_s / turn_s);
  };
  for (const Disc& disc : discs) mean += sway_of(disc) / 3.0;
  for (std::size_t i = 0; i < std::size(discs); ++i) {
    std::complex<double> sway{};
    constexpr int points = 600;
    for (int k = 0; k < points; ++k) {  // seven whole turns
      const double common_s = 2.0 + 7.0 * turn_s * k / points;
      const double capture_s =
          consensus->time().voices[i].at(common_s)->capture_s.programme_at(common_s);
      sway += (capture_s - common_s) *
              std::polar(2.0 / points, -2.0 * std::numbers::pi * common_s / turn_s);
    }
    const auto& disc = discs[i];
    EXPECT_NEAR(std::abs(sway), std::abs(sway_of(disc) - mean), 0.15 * disc.sway_s) << "disc " << i;
  }
}

TEST_F(ConsensusOfThree, RefusesAnotherTitleAndACopyByName) {
  const Held other{played(title(77), discs[0])};
  auto with_other = peers();
  with_other.push_back({&other, "stranger.wav"});
  const auto strange = Consensus::follow(with_other, {turn_s, 2}, keep_on);
  ASSERT_FALSE(strange);
  EXPECT_EQ(strange.error().fault, Fault::bad_input);
  EXPECT_NE(strange.error().text.find("stranger.wav does not follow"), std::string::npos)
      << strange.error().text;
  auto with_copy = peers();
  with_copy.push_back({captures_[1].get(), "copy.wav"});
  const auto copied = Consensus::follow(with_copy, {turn_s, 2}, keep_on);
  ASSERT_FALSE(copied);
  EXPECT_NE(copied.error().text.find("disc 1 and copy.wav are one recording"), std::string::npos)
      << copied.error().text;
}

}  // namespace
}  // namespace goodside::listen
