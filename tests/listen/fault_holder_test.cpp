#include "listen/fault_holder.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "listen/simulated_frames.hpp"

namespace goodside::listen {
namespace {

constexpr double rate_Hz = 48000.0;
constexpr std::size_t size = 24000, at = 12000;

/// One programme twice, with a surface each.
struct Two {
  StereoSamples a, b;
  Two() {
    const auto cut = simulated::programme(size, rate_Hz, 0.1, 20.0, 5);
    simulated::Noise noise{6};
    for (std::size_t c = 0; c < 2; ++c)
      for (std::size_t j = 0; j < size; ++j) {
        a[c].push_back(cut[j] + static_cast<float>(1e-3 * noise()));
        b[c].push_back(cut[j] + static_cast<float>(1e-3 * noise()));
      }
  }
  [[nodiscard]] Holder holder(std::size_t from, std::size_t to, bool bass = false) const {
    return fault_holder(a, b, {from, to}, bass, rate_Hz);
  }
};

void add_tick(StereoSamples& samples, float peak) {
  for (auto& channel : samples)
    for (std::size_t j = 0; j < 12; ++j)
      channel[at + j] +=
          peak * (j % 2 == 0 ? 1.0F : -0.8F) * std::exp(-static_cast<float>(j) / 3.0F);
}

TEST(FaultHolder, IsTheRecordingWithTheTick) {
  Two first;
  add_tick(first.a, 0.05F);
  EXPECT_EQ(first.holder(at, at + 12), Holder::first);
  Two second;
  add_tick(second.b, 0.05F);
  EXPECT_EQ(second.holder(at, at + 12), Holder::second);
}

TEST(FaultHolder, IsBothWhereOneRendersItWeaker) {
  Two both;
  add_tick(both.a, 0.5F);
  add_tick(both.b, 0.3F);
  EXPECT_EQ(both.holder(at, at + 12), Holder::both);
}

// A loss leaves no energy of its own behind: the recording with less of the programme holds the fault.
TEST(FaultHolder, IsTheRecordingThatLostProgramme) {
  for (const bool first : {true, false}) {
    Two lost;
    for (auto& channel : first ? lost.a : lost.b)
      for (std::size_t j = 0; j < 960; ++j) channel[at + j] *= 0.1F;
    EXPECT_EQ(lost.holder(at, at + 960), first ? Holder::first : Holder::second);
  }
}

TEST(FaultHolder, IsTheRecordingWithTheThump) {
  for (const bool first : {true, false}) {
    Two thump;
    for (auto& channel : first ? thump.a : thump.b)
      for (std::size_t j = 0; j < 960; ++j)
        channel[at + j] += 0.5F * std::exp(-static_cast<float>(j) / 240.0F) *
                           std::sin(2.0F * 3.14159265F * 150.0F * static_cast<float>(j) / 48000.0F);
    EXPECT_EQ(thump.holder(at, at + 960, true), first ? Holder::first : Holder::second);
  }
}

}  // namespace
}  // namespace goodside::listen
