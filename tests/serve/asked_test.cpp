#include "serve/asked.hpp"

#include <gtest/gtest.h>

#include "serve/router.hpp"
#include "serve/throttle.hpp"

namespace goodside::serve {
namespace {

Answer ten_bytes() {
  return {.type = "audio/wav", .body = "0123456789"};
}

std::string header_of(const Answer& answer, std::string_view name) {
  for (const auto& [known, value] : answer.headers)
    if (known == name) return value;
  return {};
}

// Published: RFC 9110, section 14.1.2, whose examples are of a representation of 10 000 bytes; here ten
// thousandths of each.
TEST(Ranged, CutsWhatTheExamplesOfTheStandardCut) {
  for (const auto& [range, expected] :
       std::vector<std::pair<std::string, std::string>>{{"bytes=0-4", "01234"},
                                                        {"bytes=5-9", "56789"},
                                                        {"bytes=-5", "56789"},
                                                        {"bytes=9-", "9"}}) {
    const Answer part = ranged(ten_bytes(), range);
    EXPECT_EQ(part.status, 206) << range;
    EXPECT_EQ(part.body, expected) << range;
  }
  EXPECT_EQ(header_of(ranged(ten_bytes(), "bytes=5-9"), "Content-Range"), "bytes 5-9/10");
}

TEST(Ranged, ClampsEndsAndRefusesWhatLiesOutside) {
  EXPECT_EQ(ranged(ten_bytes(), "bytes=8-9999999999").body, "89");
  EXPECT_EQ(ranged(ten_bytes(), "bytes=-9999").body, "0123456789");
  for (const char* outside : {"bytes=10-", "bytes=10-11", "bytes=-0"}) {
    const Answer refused = ranged(ten_bytes(), outside);
    EXPECT_EQ(refused.status, 416) << outside;
    EXPECT_EQ(header_of(refused, "Content-Range"), "bytes */10");
  }
}

TEST(Ranged, SendsTheWholeForWhatIsNoSingleRange) {
  for (const char* strange : {"",
                              "bytes=",
                              "bytes=-",
                              "bytes=5-4",
                              "bytes=a-b",
                              "bytes=0-1,3-4",
                              "bytes=1-99999999999999999999",
                              "items=0-1"}) {
    const Answer whole = ranged(ten_bytes(), strange);
    EXPECT_EQ(whole.status, 200) << strange;
    EXPECT_EQ(whole.body.size(), 10U) << strange;
  }
}

TEST(Asked, HeadersCompareWithoutRegardToCase) {
  Asked asked{.method = "GET", .path = "/", .from = "here"};
  asked.headers["X-CSRF-Token"] = "one";
  EXPECT_EQ(asked.header("x-csrf-token"), "one");
  EXPECT_EQ(asked.header("x-csrf"), "");
}

TEST(Asked, NumbersOutsideTheirRangeStopTheRequest) {
  Asked asked{.method = "GET", .path = "/", .from = "here"};
  asked.query = {{"limit", "20"}, {"bad", "2x"}, {"from_s", "1.5"}, {"nan", "nan"}};
  EXPECT_EQ(asked.number("limit", 1, 20, 5), 20);
  EXPECT_EQ(asked.number("absent", 1, 20, 5), 5);
  EXPECT_THROW(static_cast<void>(asked.number("limit", 1, 19, 5)), Stop);
  EXPECT_THROW(static_cast<void>(asked.number("bad", 1, 20, 5)), Stop);
  EXPECT_DOUBLE_EQ(*asked.real("from_s"), 1.5);
  EXPECT_THROW(static_cast<void>(asked.real("nan")), Stop);
  EXPECT_THROW(static_cast<void>(asked.real("bad")), Stop);
}

TEST(Routing, FindsTheRouteAndItsNamedParts) {
  Router router;
  router.add(Route{.method = "GET", .path = "/api/discs/{run}/{impression}", .run = {}});
  router.add(Route{.method = "PUT", .path = "/api/accounts/{name}", .run = {}});
  bool known = false;
  Asked disc{.method = "HEAD", .path = "/api/discs/R-00001-9/17", .from = ""};
  ASSERT_NE(router.find(disc, known), nullptr);
  EXPECT_EQ(disc.part("run"), "R-00001-9");
  EXPECT_EQ(disc.part("impression"), "17");
  for (const char* path : {"/api/discs/R-00001-9",
                           "/api/discs/R-00001-9/17/",
                           "/api/discs//17",
                           "api/discs/R/1",
                           "",
                           "//"}) {
    Asked none{.method = "GET", .path = path, .from = ""};
    EXPECT_EQ(router.find(none, known), nullptr) << path;
    EXPECT_FALSE(known);
  }
  Asked other{.method = "GET", .path = "/api/accounts/Ida", .from = ""};
  EXPECT_EQ(router.find(other, known), nullptr);
  EXPECT_TRUE(known);
}

TEST(Throttling, LetsSoManyThroughAtOnceAndThenOneATime) {
  Throttle tries{3, 1000};
  for (int k = 0; k < 3; ++k) EXPECT_EQ(tries.take("a", 500), 0);
  EXPECT_EQ(tries.take("a", 500), 1000);
  EXPECT_EQ(tries.take("b", 500), 0);  // others are not touched
  EXPECT_EQ(tries.take("a", 1400), 100);
  EXPECT_EQ(tries.take("a", 1500), 0);
  EXPECT_GT(tries.take("a", 1500), 0);
  tries.give_back("a");
  EXPECT_EQ(tries.take("a", 1500), 0);
}

TEST(Throttling, RemembersNoMoreThanAThousandKeys) {
  Throttle tries{1, 1000};
  for (int k = 0; k < 5000; ++k) EXPECT_EQ(tries.take(std::to_string(k), k), 0);
  EXPECT_GT(tries.take("4999", 5000), 0);
}

}  // namespace
}  // namespace goodside::serve
