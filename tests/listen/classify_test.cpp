#include "listen/classify.hpp"

#include <gtest/gtest.h>

namespace goodside::listen {
namespace {

using works::FaultChannel;
using works::FaultKind;
using works::Plane;

EventFeatures a_tick() {
  EventFeatures event;
  event.duration_s = 0.3e-3;
  event.low_share = 0.02;
  event.burst_kurtosis = 15.0;
  event.channel_energy = {1.0, 1.0};
  event.lateral_energy = 1.0;
  event.vertical_energy = 1.0;
  return event;
}

TEST(Classify, CallsAnImpulseATickAndABassyOneAPop) {
  EventFeatures event = a_tick();
  EXPECT_EQ(classify(event).kind, FaultKind::tick);
  event.low_share = 0.8;
  EXPECT_EQ(classify(event).kind, FaultKind::pop);
  event.duration_s = 8e-3;
  event.burst_kurtosis = 3.0;
  EXPECT_EQ(classify(event).kind, FaultKind::pop);
}

TEST(Classify, CallsLastingNoiseABurstButNotADecayingImpulse) {
  EventFeatures event = a_tick();
  event.duration_s = 40e-3;
  event.burst_kurtosis = 3.4;
  EXPECT_EQ(classify(event).kind, FaultKind::burst);
  event.burst_kurtosis = 40.0;
  EXPECT_EQ(classify(event).kind, FaultKind::tick);
}

TEST(Classify, CallsMissingProgrammeADropoutOnlyWhereTheResidualOpposesIt) {
  EventFeatures event = a_tick();
  event.duration_s = 20e-3;
  event.burst_kurtosis = 4.0;
  event.level_change_dB = -12.0;
  event.prediction_correlation = 0.9;
  EXPECT_EQ(classify(event).kind, FaultKind::dropout);
  event.prediction_correlation = 0.1;
  EXPECT_EQ(classify(event).kind, FaultKind::burst);
}

TEST(Classify, PutsClippingBeforeEverythingButNotForOneHighSample) {
  EventFeatures event = a_tick();
  event.capture_peak_fs = 1.0;
  event.share_at_full_scale = 0.2;
  EXPECT_EQ(classify(event).kind, FaultKind::clip);
  event.share_at_full_scale = 0.005;
  EXPECT_EQ(classify(event).kind, FaultKind::tick);
}

// Property: mirrored channels mirror the answer, and a fault of one wall lies in neither plane.
TEST(Classify, TellsTheWallAndThePlane) {
  EventFeatures event = a_tick();
  EXPECT_EQ(classify(event).channel, FaultChannel::both);
  event.channel_energy = {1.0, 0.01};
  EXPECT_EQ(classify(event).channel, FaultChannel::left);
  EXPECT_EQ(classify(event).plane, Plane::mixed);
  event.channel_energy = {0.01, 1.0};
  EXPECT_EQ(classify(event).channel, FaultChannel::right);
  event.channel_energy = {1.0, 1.0};
  event.vertical_energy = 0.05;
  EXPECT_EQ(classify(event).plane, Plane::lateral);
  event.vertical_energy = 20.0;
  EXPECT_EQ(classify(event).plane, Plane::vertical);
}

}  // namespace
}  // namespace goodside::listen
