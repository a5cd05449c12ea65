#include "listen/programme_floor.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

constexpr std::size_t cells = 42000;  // a piece of seven seconds
constexpr double freedom = 8.0;

/// Mean square of `freedom` normal samples.
float cell_of(simulated::Noise& noise) {
  double sum = 0.0;
  for (int j = 0; j < static_cast<int>(freedom); ++j) {
    const double sample = noise();
    sum += sample * sample;
  }
  return static_cast<float>(sum / freedom);
}

struct Piece {
  std::vector<float> residual, programme;
};

/// Noise under a programme that swells over 40 dB twice a second.
Piece swelling(double left_over) {
  simulated::Noise noise{11};
  Piece piece;
  for (std::size_t c = 0; c < cells; ++c) {
    const double dB = 15.0 + 20.0 * std::sin(2.0 * 3.14159265 * static_cast<double>(c) / 3000.0);
    const double power = std::pow(10.0, 0.1 * dB);
    piece.programme.push_back(static_cast<float>(power));
    piece.residual.push_back(cell_of(noise) * static_cast<float>(1.0 + left_over * power));
  }
  return piece;
}

std::vector<float> floor_of(const Piece& piece, double& lift) {
  return programme_floor(piece.residual, piece.programme, freedom, by_programme, lift);
}

// Theory: noise alone has its own power for a floor, whatever the programme does, and no heavier tail than itself.
TEST(ProgrammeFloor, IsTheSurfaceWhereTheProgrammeLeavesNothing) {
  double lift = 1.0;
  for (const float floor : floor_of(swelling(0.0), lift)) ASSERT_NEAR(floor, 1.0F, 0.25F);
  EXPECT_LT(lift, 1.15);
}

// Theory: what the programme leaves in proportion to its power is found at every loudness.
TEST(ProgrammeFloor, FollowsWhatTheProgrammeLeaves) {
  const Piece piece = swelling(0.01);
  double lift = 1.0;
  const std::vector<float> floor = floor_of(piece, lift);
  for (std::size_t c = 0; c < cells; c += 97) {
    const float expected = 1.0F + 0.01F * piece.programme[c];
    ASSERT_GT(floor[c], 0.75F * expected) << piece.programme[c];
    ASSERT_LT(floor[c], 1.6F * expected) << piece.programme[c];
  }
}

// Property: neither one dropout of 60 ms in loud programme nor bursts of a tenth of each turn raise the floor that
// they are measured by.
TEST(ProgrammeFloor, IsNotRaisedByFaults) {
  double lift = 1.0;
  const Piece clean = swelling(0.0);
  Piece dropped = clean;
  for (std::size_t c = 20400; c < 20760; ++c) dropped.residual[c] += 300.0F;
  Piece torn = clean;
  for (std::size_t turn = 3000; turn + 1000 < cells; turn += 10800)
    for (std::size_t c = turn; c < turn + 1000; ++c) torn.residual[c] *= 12.0F;
  const std::vector<float> expected = floor_of(clean, lift);
  for (const Piece& hurt : {dropped, torn}) {
    const std::vector<float> floor = floor_of(hurt, lift);
    for (std::size_t c = 0; c < cells; c += 31) ASSERT_LT(floor[c], 2.0F * expected[c]) << c;
  }
}

// Property: digital silence and a residual of nothing have a floor that can be divided by nowhere but at nothing.
TEST(ProgrammeFloor, IsFiniteOnSilence) {
  double lift = 1.0;
  const std::vector<float> nothing(500, 0.0F);
  for (const float floor : programme_floor(nothing, nothing, freedom, by_programme, lift))
    ASSERT_TRUE(std::isfinite(floor));
  EXPECT_TRUE(std::isfinite(lift));
}

}  // namespace
}  // namespace goodside::listen
