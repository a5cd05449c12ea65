#include "json/listening_report.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>

#include "json/sample_report.hpp"
#include "support/golden.hpp"

namespace goodside::json {
namespace {

using nlohmann::json;
using test::sample_report;
using ::testing::HasSubstr;
using ::testing::StartsWith;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

/// The sample as a JSON value with one change, read again.
Result<works::ListeningReport> changed(const std::string& pointer, const json& value) {
  auto document = json::parse(write(sample_report()));
  document[json::json_pointer{pointer}] = value;
  return read(document.dump());
}

std::string refusal(const std::string& pointer, const json& value) {
  const auto report = changed(pointer, value);
  if (report) return {};
  EXPECT_EQ(report.error().fault, Fault::bad_input);
  return report.error().text;
}

std::vector<std::string> keys(const json& object) {
  std::vector<std::string> all;
  for (const auto& [key, value] : object.items()) all.push_back(key);
  return all;
}

// Golden: the whole layout, read by people in a diff.
TEST(ListeningReport, IsWrittenAsTheGoldenText) {
  EXPECT_TRUE(testing::matches_golden("json/golden/listening_report.json", write(sample_report())));
}

// Every name of the contract goodside.listen/1, to the letter, as the design sets it down.
TEST(ListeningReport, HoldsEveryNameOfTheContract) {
  const auto report = json::parse(write(sample_report()));
  const std::pair<const char*, std::vector<std::string>> contract[] = {
      {"",
       {"schema",
        "capture",
        "reference",
        "heard",
        "geometry",
        "alignment",
        "wow",
        "levels",
        "faults",
        "patterns",
        "noise",
        "verdict",
        "masked",
        "undetermined"}},
      {"/capture", {"path", "sample_rate_Hz", "channels", "duration_s", "sha256"}},
      {"/reference", {"path", "sample_rate_Hz", "channels", "duration_s", "sha256", "kind"}},
      {"/geometry", {"format", "rpm", "outer_radius_m", "inner_radius_m", "pitch_m"}},
      {"/alignment",
       {"found",
        "programme_start_s",
        "programme_end_s",
        "programme_sigma_s",
        "speed_error_ppm",
        "drive_error_ppm",
        "gain_dB",
        "polarity",
        "channels",
        "confidence"}},
      {"/wow",
       {"eccentricity_m",
        "eccentricity_sigma_m",
        "eccentricity_direction_deg",
        "once_per_rev_peak",
        "weighted_2sigma",
        "curve"}},
      {"/wow/once_per_rev_peak", {"outer", "inner"}},
      {"/wow/curve", {"time_s", "deviation"}},
      {"/levels", {"third_octave", "balance_dB", "separation_dB", "high_loss_dB_per_m"}},
      {"/levels/third_octave/0", {"centre_Hz", "left_dB", "right_dB"}},
      {"/faults/0",
       {"id",
        "kind",
        "capture_s",
        "programme_s",
        "revolution",
        "angle_deg",
        "angle_sigma_deg",
        "radius_m",
        "radius_sigma_m",
        "duration_s",
        "peak_dB",
        "excess_dB",
        "channel",
        "plane",
        "audibility",
        "pattern",
        "margin_dB"}},
      {"/patterns/0",
       {"id",
        "kind",
        "faults",
        "first_revolution",
        "last_revolution",
        "angle_deg",
        "angle_span_deg"}},
      {"/noise", {"weighted_dB", "rumble_dB", "hum_dB", "polar", "echo"}},
      {"/noise/polar", {"revolutions_per_row", "columns", "rows", "dB"}},
      {"/noise/echo", {"lead_dB", "lag_dB"}},
      {"/verdict", {"pass", "limits", "reasons"}},
      {"/verdict/reasons/0", {"rule", "value", "limit", "text"}},
      {"/masked", {"count"}},
      {"/undetermined/0", {"field", "why"}}};
  for (const auto& [pointer, names] : contract)
    EXPECT_THAT(keys(report[json::json_pointer{pointer}]), ::testing::IsSupersetOf(names))
        << pointer;
  EXPECT_THAT(write(sample_report()), StartsWith("{\n  \"schema\": \"goodside.listen/1\",\n"));
}

// Property: writing after reading changes no byte, for the sample, its golden text and a bare
// report.
TEST(ListeningReport, ReadsBackToTheSameBytes) {
  works::ListeningReport bare;
  bare.verdict.limits = "custom";
  works::ListeningReport third = sample_report();
  third.capture.duration_s = 1.0 / 3.0;
  third.wow.curve = {.time_s = {1.0 / 3.0, 1500.0 / 7.0}, .deviation = {-1e-9, 1.0 / 7.0}};
  for (const auto& report : {bare, sample_report(), third}) {
    const auto text = write(report);
    const auto again = read(text);
    ASSERT_TRUE(again) << again.error().text;
    EXPECT_EQ(write(*again), text);
  }
}

TEST(ListeningReport, ReadsBackToTheSameValues) {
  const auto report = read(write(sample_report()));
  ASSERT_TRUE(report) << report.error().text;
  EXPECT_EQ(report->reference->kind, works::ReferenceKind::cutting_feed);
  EXPECT_EQ(report->heard[1].from_s, 41.0);
  EXPECT_EQ(report->alignment->drive_error_ppm, std::nullopt);
  EXPECT_EQ(report->alignment->polarity, -1);
  EXPECT_EQ(report->wow.eccentricity_m, 0.0001234);
  EXPECT_TRUE(report->wow.arm_corrected);
  EXPECT_EQ(report->faults[0].programme_s, 10.7654321);
  EXPECT_EQ(report->faults[0].plane, works::Plane::vertical);
  EXPECT_EQ(report->faults[1].revolution, std::nullopt);
  EXPECT_EQ(report->faults[1].programme_jump_s, 1.8);
  EXPECT_EQ(report->faults[0].nature, works::Nature::dirt);
  EXPECT_EQ(report->faults[0].nature_probability, 0.9375);
  EXPECT_FALSE(report->faults[1].nature);
  EXPECT_EQ(report->noise.polar->dB[1], std::nullopt);
  EXPECT_EQ(report->noise.polar->dB[5], -47.5);
  EXPECT_EQ(report->noise.polar->coverage[5], 0.25);
  EXPECT_EQ(report->masked_count, 3);
  EXPECT_EQ(report->remarks, sample_report().remarks);
}

TEST(ListeningReport, PrintsNoMoreDigitsThanAreStable) {
  auto one = sample_report(), other = sample_report();
  one.faults[0].capture_s = 100.0 / 3.0;
  other.faults[0].capture_s = std::nextafter(100.0 / 3.0, 100.0);
  one.faults[0].peak_dB = -0.0;
  other.faults[0].peak_dB = 0.0;
  EXPECT_EQ(write(one), write(other));
  EXPECT_THAT(write(one), HasSubstr("\"capture_s\": 33.3333333,"));
  EXPECT_THAT(write(one), HasSubstr("\"peak_dB\": 0.0,"));
}

TEST(ListeningReport, TurnsWhatIsNotFiniteIntoNullAndNamesIt) {
  auto report = sample_report();
  report.alignment->gain_dB = nan;
  report.wow.eccentricity_m = std::numeric_limits<double>::infinity();
  report.wow.curve.deviation[1] = nan;
  report.faults[1].peak_dB = -nan;
  const auto text = write(report);
  const auto document = json::parse(text);
  EXPECT_TRUE(document["alignment"]["gain_dB"].is_null());
  EXPECT_TRUE(document["wow"]["curve"]["deviation"][1].is_null());
  std::vector<std::string> named;
  for (const auto& one : document["undetermined"]) named.push_back(one["field"]);
  EXPECT_THAT(named,
              ::testing::UnorderedElementsAre("alignment.drive_error_ppm",
                                              "noise.hum_dB",
                                              "alignment.gain_dB",
                                              "wow.eccentricity_m",
                                              "wow.curve.deviation[1]",
                                              "faults[1].peak_dB"));
  const auto again = read(text);
  ASSERT_TRUE(again) << again.error().text;
  EXPECT_TRUE(std::isnan(again->alignment->gain_dB));
  EXPECT_EQ(write(*again), text) << "named once and not again";
}

TEST(ListeningReport, LeavesMaskedFaultsOutAndAcceptsThem) {
  auto report = sample_report();
  report.faults[0].audibility = works::Audibility::masked;
  const auto document = json::parse(write(report));
  EXPECT_EQ(document["faults"].size(), 1U);
  EXPECT_EQ(document["patterns"][0]["faults"].size(), 0U);
  const auto masked = changed("/faults/0/audibility", "masked");
  ASSERT_TRUE(masked);
  EXPECT_EQ(masked->faults.size(), 2U);
}

TEST(ListeningReport, BearsAPathThatIsNoUtf8) {
  auto report = sample_report();
  report.capture.path = "gr\xFCn \"A\"\n.wav";
  const auto again = read(write(report));
  ASSERT_TRUE(again);
  EXPECT_EQ(again->capture.path, "gr\xEF\xBF\xBDn \"A\"\n.wav");
}

TEST(ListeningReport, PassesOverWhatItDoesNotKnow) {
  EXPECT_TRUE(changed("/wow/flutter_index", json{{"a", {1, 2}}}));
  EXPECT_TRUE(changed("/faults/0/colour", "grey"));
  auto document = json::parse(write(sample_report()));
  document.erase("remarks");
  document["noise"].erase("polar");
  document["faults"][0].erase("margin_dB");
  EXPECT_TRUE(read(document.dump()));
}

TEST(ListeningReport, RefusesWithThePathOfTheField) {
  EXPECT_THAT(refusal("/schema", "goodside.listen/2"), HasSubstr("newer than this program"));
  EXPECT_THAT(refusal("/schema", "goodside.trace/1"),
              StartsWith("$.schema: this is no listening report"));
  EXPECT_THAT(refusal("/schema", "goodside.listen/1x"), StartsWith("$.schema: "));
  EXPECT_THAT(refusal("/schema", 1), StartsWith("$.schema: number stands where a text"));
  EXPECT_THAT(refusal("/capture", nullptr),
              StartsWith("$.capture: nothing stands where an object"));
  EXPECT_THAT(refusal("/capture/channels", 2.5), StartsWith("$.capture.channels: "));
  EXPECT_THAT(refusal("/reference/kind", "feed"),
              HasSubstr("'feed' is none of file, cutting feed"));
  EXPECT_THAT(refusal("/heard/1", json::array({1, 2, 3})), StartsWith("$.heard[1]: two times"));
  EXPECT_THAT(refusal("/heard/0/0", 50.0), StartsWith("$.heard[0]: ends before"));
  EXPECT_THAT(refusal("/alignment/polarity", 0), StartsWith("$.alignment.polarity: "));
  EXPECT_THAT(refusal("/alignment/gain_dB", nullptr), StartsWith("$.alignment.gain_dB: nothing"));
  EXPECT_THAT(refusal("/wow/curve/time_s", json::array({1})),
              HasSubstr("1 times and 3 deviations"));
  EXPECT_THAT(refusal("/wow/curve/time_s/1", "x"), StartsWith("$.wow.curve.time_s[1]: "));
  EXPECT_THAT(refusal("/faults", nullptr), StartsWith("$.faults: nothing stands where a list"));
  EXPECT_THAT(refusal("/faults/1/id", 1), HasSubstr("the id 1 stands twice"));
  EXPECT_THAT(refusal("/faults/1/id", 4e18), StartsWith("$.faults[1].id: "));
  EXPECT_THAT(refusal("/faults/1/id", 18446744073709551615ULL), HasSubstr("outside"));
  EXPECT_THAT(refusal("/faults/1/kind", "click"),
              StartsWith("$.faults[1].kind: 'click' is none of tick"));
  EXPECT_THAT(refusal("/noise/polar/rows", 3), StartsWith("$.noise.polar.dB: 3 rows"));
  EXPECT_THAT(refusal("/noise/polar/dB/1", json::array()),
              StartsWith("$.noise.polar.dB[1]: 3 columns"));
  EXPECT_THAT(refusal("/verdict/pass", "yes"), StartsWith("$.verdict.pass: string stands"));
  EXPECT_THAT(refusal("/masked/count", -1), StartsWith("$.masked.count: -1 lies outside"));
}

TEST(ListeningReport, RefusesWhatIsNoJsonOrFarTooMuchOfIt) {
  const auto text = [](std::string_view given) { return read(given).error().text; };
  EXPECT_THAT(text(""), HasSubstr("no JSON"));
  EXPECT_THAT(text("[]"), StartsWith("$: array stands where an object"));
  EXPECT_THAT(text(write(sample_report()).substr(0, 700)), HasSubstr("no JSON from byte"));
  EXPECT_THAT(text(std::string(1'000'000, '[')), HasSubstr("nested deeper"));
  EXPECT_THAT(text(std::string(largest_report_bytes + 1, ' ')), HasSubstr("larger than"));
  EXPECT_THAT(text("{\"schema\": 1e999}"), HasSubstr("number"));
}

}  // namespace
}  // namespace goodside::json
