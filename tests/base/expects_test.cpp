#include "base/expects.hpp"

#include <gtest/gtest.h>

namespace {

int halved(int even) {
  EXPECTS(even % 2 == 0);
  return even / 2;
}

TEST(Expects, LetsAKeptPromisePass) {
  EXPECT_EQ(halved(6), 3);
}

// Also in the release build, where NDEBUG silences assert().
TEST(ExpectsDeathTest, StopsTheProgramAndNamesThePromiseAndThePlace) {
  EXPECT_DEATH(halved(7), "broken promise even % 2 == 0 at .*expects_test.cpp:[0-9]+");
}

}  // namespace
