#include "line/instants.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <ctime>

namespace goodside::line {
namespace {

class Instants : public testing::Test {
 protected:
  Instants() {
    setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);  // POSIX rules, so no zone files are needed
    tzset();
  }
  ~Instants() override {
    unsetenv("TZ");
    tzset();
  }
};

// Published: POSIX's own example, 2001-09-09 01:46:40 UTC is 1 000 000 000 seconds.
TEST_F(Instants, CountFromTheEpoch) {
  EXPECT_EQ(read_instant("2001-09-09T01:46:40Z").value(), 1'000'000'000'000);
  EXPECT_EQ(utc_instant(1'000'000'000'000), "2001-09-09T01:46:40.000Z");
  EXPECT_EQ(utc_instant(-1), "1969-12-31T23:59:59.999Z");
}

TEST_F(Instants, AreReadAndShownInTheWorksZone) {
  EXPECT_EQ(read_instant("2026-11-25 14:30").value(), read_instant("2026-11-25T13:30:00Z").value());
  EXPECT_EQ(read_instant("2026-07-01 14:30").value(), read_instant("2026-07-01T12:30:00Z").value());
  EXPECT_EQ(shown_instant(read_instant("2026-07-01T12:30:00Z").value()), "2026-07-01 14:30");
  EXPECT_EQ(shown_day(read_instant("2026-12-31T23:30:00Z").value()), "2027-01-01");
  EXPECT_EQ(read_instant("2026-11-25").value(), read_instant("2026-11-24T23:00:00.000Z").value());
}

TEST_F(Instants, RefuseWhatIsNoDate) {
  for (const char* wrong : {"",
                            "today",
                            "2026-13-01",
                            "2026-02-29",
                            "2026-00-10",
                            "2026-1-1",
                            "26-01-01",
                            "2026-01-01 25:00",
                            "2026-01-01 10",
                            "2026-01-01 10:61",
                            "2026-01-01 10:30 pm",
                            "2026-01-01Z",
                            "1899-12-31",
                            "9999-01-01"})
    EXPECT_FALSE(read_instant(wrong).has_value()) << wrong;
  EXPECT_TRUE(read_instant("2028-02-29").has_value());
}

}  // namespace
}  // namespace goodside::line
