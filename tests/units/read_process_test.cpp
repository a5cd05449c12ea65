#include "units/read_process.hpp"

#include <gtest/gtest.h>

namespace goodside::units {
namespace {

// Published: NIST SP 811, appendix B.8: pound-force 4.448222 N; a tonne-force is 9806.65 N.
TEST(ReadProcess, TakesForceSpeedFlowAndDifferences) {
  EXPECT_DOUBLE_EQ(*force_N("1000 kN"), 1e6);
  EXPECT_NEAR(*force_N("1 lbf"), 4.448222, 5e-7);
  EXPECT_DOUBLE_EQ(*force_N("100t"), 980665.0);
  EXPECT_DOUBLE_EQ(*speed_m_per_s("20 mm/s"), 0.02);
  EXPECT_DOUBLE_EQ(*water_flow_kg_per_s("150 l/min"), 2.5);
  EXPECT_DOUBLE_EQ(*temperature_difference_K("-3 K"), -3.0);
  EXPECT_DOUBLE_EQ(*number("0.35"), 0.35);
}

TEST(ReadProcess, RefusesWhatIsNone) {
  for (const char* bad : {"", "kN", "1000", "nan kN", "inf N", "1e400 kN", "5 kg"})
    EXPECT_FALSE(force_N(bad).has_value()) << bad;
  EXPECT_EQ(force_N("-1 kN").error().fault, Fault::out_of_range);
  EXPECT_NE(number("3 mm").error().text.find("such as 0.35"), std::string::npos);
}

}  // namespace
}  // namespace goodside::units
