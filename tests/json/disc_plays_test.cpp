#include "json/disc_plays.hpp"

#include <gmock/gmock.h>

#include <cmath>
#include <limits>
#include <string>

#include "json/bench_results.hpp"

namespace goodside::json {
namespace {

using testing::HasSubstr;

works::DiscPlays sample() {
  works::DiscPlays plays;
  plays.reference.emplace();
  plays.reference->file = {.path = "cut.wav",
                           .sample_rate_Hz = 96000.0,
                           .channels = 2,
                           .duration_s = 60.5,
                           .sha256 = "ab"};
  plays.reference->kind = works::ReferenceKind::mother;
  plays.geometry = {"12in-33", 100.0 / 3.0, 0.146, 0.066, 1.2e-4};
  for (const auto after : {works::After::as_found, works::After::brushed, works::After::reseated}) {
    works::DiscPlay play;
    play.capture.path = "play.wav";
    play.after = after;
    play.heard = {{0.0, 30.0}, {31.0, 60.0}};
    play.plain_faults = 2;
    play.seating = after == works::After::reseated ? 2 : 1;
    play.eccentricity_m = 1.25e-4;
    plays.plays.push_back(play);
  }
  works::FaultPlace place;
  place.fault.id = 1;
  place.fault.kind = works::FaultKind::pop;
  place.fault.programme_s = 12.3456789;
  place.fault.revolution = 6;
  place.fault.angle_deg = 12.5;
  place.fault.radius_m = 0.14;
  place.fault.peak_dB = std::numeric_limits<double>::quiet_NaN();
  place.plays = {works::Showing::found, works::Showing::missed, works::Showing::not_heard};
  place.owner = works::Owner::undecided;
  place.disc_probability = 0.4321;
  place.chance = 1.23e-7;
  plays.places = {place};
  plays.match_window_s = 2e-3;
  plays.detection = {0.97, 0.8, 3, 4};
  plays.hole = {.seatings = 2,
                .eccentricity_m = 1e-4,
                .eccentricity_sigma_m = 2e-5,
                .eccentricity_direction_deg = 40.0,
                .seating_spread_m = {},
                .same_chance = 0.02};
  plays.verdict = {
      .pass = false, .limits = "ours", .reasons = {{"eccentricity_m", 3e-4, 2e-4, "off"}}};
  plays.undetermined = {{"jitter_s", "no tick was found in two plays"}};
  plays.remarks = {"a remark"};
  return plays;
}

TEST(DiscPlaysJson, IsReadBackToTheSameBytes) {
  const std::string text = write(sample());
  const auto read = read_plays(text);
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(write(*read), text);
  EXPECT_EQ(text.find("nan"), std::string::npos);
  EXPECT_EQ(read->places[0].plays[2], works::Showing::not_heard);
  EXPECT_EQ(read->plays[2].after, works::After::reseated);
  EXPECT_NEAR(*read->places[0].fault.programme_s, 12.3456789, 1e-7);
  EXPECT_TRUE(std::isnan(read->places[0].fault.peak_dB));
}

TEST(DiscPlaysJson, NamesTheFirstWrongField) {
  const auto refusal = [](const std::string& from, const std::string& to) {
    std::string text = write(sample());
    const auto at = text.find(from);
    EXPECT_NE(at, std::string::npos) << from;
    const auto read = read_plays(text.replace(at, from.size(), to));
    return read ? std::string{"taken"} : read.error().text;
  };
  EXPECT_THAT(refusal("\"brushed\"", "\"hoovered\""), HasSubstr("$.plays[1].after"));
  EXPECT_THAT(refusal("0.4321", "1.4321"), HasSubstr("$.places[0].disc_probability"));
  EXPECT_THAT(refusal("goodside.plays/1", "goodside.listen/1"), HasSubstr("$.schema"));
  EXPECT_THAT(refusal("\"missed\", ", ""), HasSubstr("$.places[0].plays"));
  EXPECT_THAT(refusal("\"seatings\": 2", "\"seatings\": -2"), HasSubstr("$.hole.seatings"));
}

// Property: cut anywhere, a text is refused and never read as something else.
TEST(DiscPlaysJson, ATruncatedTextIsRefused) {
  const std::string text = write(sample());
  for (std::size_t length = 0; length + 2 < text.size(); length += 7)
    EXPECT_FALSE(read_plays(std::string_view{text}.substr(0, length))) << length;
}

TEST(BenchResultsJson, HoldFiguresToSixDigitsAndNoNumberThatIsNone) {
  works::BenchCheck check;
  check.plays = {"a.json"};
  check.day = {0.0};
  check.measures.push_back({.field = "noise.weighted_dB",
                            .name = "noise",
                            .unit = "dB",
                            .centre = -60.123456789,
                            .latest = std::numeric_limits<double>::infinity(),
                            .how = ""});
  const std::string text = write(check);
  EXPECT_THAT(text, HasSubstr("\"goodside.check-disc/1\""));
  EXPECT_THAT(text, HasSubstr("\"centre\": -60.1235"));
  EXPECT_THAT(text, HasSubstr("\"latest\": null"));

  works::LearnedLimits learned;
  learned.measures.push_back(
      {.rule = "hum_dB", .built_in = -35.0, .limit = -41.5, .why = "tightened"});
  learned.misses.push_back({.path = "x.json", .listeners_passed = true, .why = "hum"});
  const std::string limits = write(learned);
  EXPECT_THAT(limits, HasSubstr("\"limit\": -41.5"));
  EXPECT_THAT(limits, HasSubstr("\"listeners\": \"passed\""));
  EXPECT_THAT(limits, HasSubstr("\"left_out\": null"));
}

}  // namespace
}  // namespace goodside::json
