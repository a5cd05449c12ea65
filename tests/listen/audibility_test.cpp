#include "listen/audibility.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace goodside::listen {
namespace {

using works::Audibility;

FaultEnergies standing(double over_noise_dB, double over_programme_dB) {
  return {.fault = 1.0,
          .noise = std::pow(10.0, -over_noise_dB / 10.0),
          .programme = std::pow(10.0, -over_programme_dB / 10.0)};
}

// The house's definition (common practice, no source), each corner of it from both sides.
TEST(Audibility, HoldsTheLinesOfItsDefinition) {
  EXPECT_EQ(audibility(standing(10.01, -14.99)), Audibility::plain);
  EXPECT_EQ(audibility(standing(9.99, -14.99)), Audibility::slight);
  EXPECT_EQ(audibility(standing(10.01, -15.01)), Audibility::slight);
  EXPECT_EQ(audibility(standing(3.01, -29.99)), Audibility::slight);
  EXPECT_EQ(audibility(standing(2.99, 40.0)), Audibility::masked);
  EXPECT_EQ(audibility(standing(60.0, -30.01)), Audibility::masked);
}

TEST(Audibility, IsNeverMaskedBySilenceNorHeardWithoutEnergy) {
  EXPECT_EQ(audibility({.fault = 1e-12, .noise = 0.0, .programme = 0.0}), Audibility::plain);
  EXPECT_EQ(audibility({}), Audibility::masked);
}

// Property: only ratios count.
TEST(Audibility, DoesNotDependOnTheUnitOfEnergy) {
  for (double noise_dB = 0.0; noise_dB < 14.0; noise_dB += 0.7)
    for (double programme_dB = -34.0; programme_dB < -10.0; programme_dB += 0.9) {
      FaultEnergies energies = standing(noise_dB, programme_dB);
      const Audibility before = audibility(energies);
      energies.fault *= 0x1p-40;
      energies.noise *= 0x1p-40;
      energies.programme *= 0x1p-40;
      EXPECT_EQ(audibility(energies), before);
    }
}

}  // namespace
}  // namespace goodside::listen
