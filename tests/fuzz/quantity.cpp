#include <cmath>

#include "fuzz/require.hpp"
#include "units/read.hpp"

// Any text as each of the quantities that options take. The first byte chooses which.

namespace goodside {
namespace {

struct Kind {
  Result<double> (*read)(std::string_view);
  double low, high;
};

constexpr Kind kinds[] = {{units::length_m, -1000.0, 1000.0},
                          {units::pitch_m, 1e-6, 10e-3},
                          {units::duration_s, 0.0, 1e9},
                          {units::rotation_rpm, 1.0, 1000.0},
                          {units::frequency_Hz, 0.0, 1e7},
                          {units::temperature_K, 0.0, 5000.0},
                          {units::pressure_Pa, -1e5, 1e9},
                          {units::level_dB, -300.0, 300.0},
                          {units::fraction, 0.0, 1.0},
                          {units::deviation, -1.0, 1.0}};

}  // namespace
}  // namespace goodside

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace goodside;
  if (size == 0) return 0;
  const Kind& kind = kinds[data[0] % std::size(kinds)];
  const auto value = kind.read(fuzz::text_of(data + 1, size - 1));
  if (!value) {
    fuzz::require(!value.error().text.empty(), "a refusal says something");
    return 0;
  }
  fuzz::require(*value >= kind.low && *value <= kind.high,
                "a quantity that somebody can mean",
                std::to_string(*value));
  return 0;
}
