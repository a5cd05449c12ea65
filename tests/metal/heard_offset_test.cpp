#include "metal/heard_offset.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "metal/offset_region.hpp"

namespace goodside::metal {
namespace {

works::OffsetEstimate read_at(double x_m) {
  works::OffsetEstimate read;
  read.x_m = x_m;
  put_uncertainty(read, {.xx = 9e-12, .xy = 0.0, .yy = 9e-12, .degrees_of_freedom = 10.0});
  return read;
}

/// Discs with a true offset, each seated by chance.
std::vector<HeardOffset> discs(double offset_m, int count, std::mt19937_64& engine) {
  std::normal_distribution<double> normal;
  std::vector<HeardOffset> heard;
  for (int i = 0; i < count; ++i)
    heard.push_back({"D" + std::to_string(i),
                     std::hypot(offset_m + 25e-6 * normal(engine), 25e-6 * normal(engine)),
                     2e-6});
  return heard;
}

// Property: the length in common is found without the seat's part, which alone would read 35 um of nothing, and a plate
// that is as it was read agrees nine times in ten or more.
TEST(HeardOffset, AgreesWhereThePlateIsAsItWasRead) {
  std::mt19937_64 engine{7};
  for (const double offset_m : {0.0, 60e-6, 200e-6}) {
    int agreed = 0;
    double mean = 0.0;
    constexpr int stampers = 400;
    for (int k = 0; k < stampers; ++k) {
      const auto told = heard_against_read(discs(offset_m, 12, engine), read_at(offset_m));
      ASSERT_TRUE(told);
      agreed += told->agree ? 1 : 0;
      mean += told->heard_m * told->heard_m / stampers;
    }
    EXPECT_GT(agreed, stampers * 9 / 10) << offset_m;
    EXPECT_NEAR(mean, offset_m * offset_m, 3e-10) << offset_m;
  }
}

TEST(HeardOffset, TellsADisagreement) {
  std::mt19937_64 engine{8};
  const auto told = heard_against_read(discs(200e-6, 6, engine), read_at(30e-6));
  ASSERT_TRUE(told);
  EXPECT_FALSE(told->agree);
  EXPECT_NE(told->said.find("they differ"), std::string::npos);
}

TEST(HeardOffset, NeedsADiscAndARegion) {
  EXPECT_FALSE(heard_against_read({}, read_at(0.0)));
  EXPECT_FALSE(heard_against_read({{"D1", 1e-4, 1e-6}}, {}));
}

}  // namespace
}  // namespace goodside::metal
