#include "intake/pitch_profile.hpp"

#include "fuzz/require.hpp"

// Any text as a pitch profile.

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace goodside;
  const auto profile = intake::pitch_profile_from_csv(fuzz::text_of(data, size), "pitch.csv");
  if (!profile) {
    fuzz::require_clear(profile.error(), "pitch.csv");
    return 0;
  }
  fuzz::require(profile->size() >= 2, "a profile has two points at least");
  double before_s = -1.0;
  for (const auto& [time_s, pitch_m] : *profile) {
    fuzz::require(time_s >= 0.0 && time_s <= 1e5 && time_s > before_s, "times rise");
    fuzz::require(pitch_m >= 1e-5 && pitch_m <= 1e-2, "a pitch that can be cut");
    before_s = time_s;
  }
  return 0;
}
