#include "signal/pcm.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace goodside::signal {
namespace {

// Closed form: two's complement, the lowest byte first, over 2^(bits - 1); lengths round the registers.
TEST(Pcm, UnpacksEveryWidthExactly) {
  for (const std::size_t width : {2U, 3U})
    for (std::size_t count = 1; count < 24; ++count) {
      const double full = std::ldexp(1.0, static_cast<int>(8 * width) - 1);
      std::vector<unsigned char> bytes;
      std::vector<float> expected;
      for (std::size_t j = 0; j < count; ++j) {
        const double share = static_cast<double>(j) / 11.0 - 1.0;
        const auto value =
            static_cast<std::int32_t>(std::clamp(std::floor(share * full), -full, full - 1.0));
        for (std::size_t k = 0; k < width; ++k)
          bytes.push_back(
              static_cast<unsigned char>(static_cast<std::uint32_t>(value) >> (8U * k)));
        expected.push_back(static_cast<float>(value / full));
      }
      std::vector<float> samples(count);
      (width == 2 ? unpack_16_bits : unpack_24_bits)(bytes, samples);
      EXPECT_EQ(samples, expected) << width << " " << count;
    }
}

}  // namespace
}  // namespace goodside::signal
