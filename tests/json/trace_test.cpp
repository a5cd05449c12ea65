#include <gmock/gmock.h>

#include <random>
#include <string>

#include "json/family.hpp"
#include "json/listening_report.hpp"
#include "json/sample_report.hpp"
#include "json/trace_report.hpp"

namespace goodside::json {
namespace {

using testing::Contains;
using testing::HasSubstr;

constexpr const char* family_text = R"({"schema": "goodside.family/1",
"parts": [{"id": "C1", "kind": "cut", "parent": null},
          {"id": "F1", "kind": "father", "parent": "C1", "grown": 1},
          {"id": "M1", "kind": "mother", "parent": "F1", "grown": 1},
          {"id": "S1", "kind": "stamper", "parent": "M1", "grown": 1, "material": "nickel"}],
"discs": [{"id": "D1", "stamper": {"A": "S1", "B": null}, "mounting": "N1", "impression": 17, "press": "P1",
           "batch": "B1", "fetchable": true},
          {"id": "D2", "stamper": {"A": "S1", "B": null}, "impression": [20, 44], "carton": "K1"},
          {"id": "D3"}],
"stock": [{"carton": "K1", "impressions": [20, 44], "fetchable": true},
          {"spindle": "T1", "impressions": [45, 94]}],
"steps": [{"part": "S1", "at": 30, "what": "washed"}, {"mounting": "N1", "at": "2026-05-01", "what": "mounted"},
          {"part": "M1", "after_grown": 3, "what": "repaired"}],
"reports": [{"disc": "D1", "side": "A", "play": 2, "after": "brushed", "file": "d1.json"},
            {"disc": "D2", "file": "d2.json"}],
"remarks": [{"carton": "K1", "side": "A", "programme_s": 192, "within_s": 5, "words": "tick", "from": "customer"}],
"costs": {"hear_min": 20, "wash": 5}})";

TEST(FamilyFile, IsReadAndWhatIsMissingIsFilledIn) {
  const auto read = read_family(family_text);
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_TRUE(read->refused.empty()) << read->refused.front().why;
  const works::Family& family = read->family;
  ASSERT_EQ(family.parts.size(), 4U);
  EXPECT_EQ(family.parts[3].material, "nickel");
  EXPECT_EQ(family.parts[0].parent, "");
  ASSERT_EQ(family.discs.size(), 3U);
  EXPECT_EQ(family.discs[0].impression, (works::Impressions{17, 17}));
  EXPECT_EQ(family.discs[1].impression, (works::Impressions{20, 44}));
  EXPECT_FALSE(family.discs[2].impression);
  EXPECT_EQ(family.discs[2].stamper_of(works::DiscSide::A), "");
  EXPECT_TRUE(family.discs[0].fetchable);
  EXPECT_EQ(family.steps[0].at, (works::Impressions{30, 30}));
  EXPECT_EQ(family.steps[1].time, "2026-05-01");
  EXPECT_EQ(family.steps[2].after_grown, 3);
  EXPECT_EQ(family.reports[1].play, 1);
  EXPECT_EQ(family.reports[1].after, works::After::as_found);
  EXPECT_EQ(family.reports[0].after, works::After::brushed);
  EXPECT_EQ(family.remarks[0].within_s, 5.0);
  EXPECT_EQ(family.costs.hear_min, 20.0);
  EXPECT_EQ(family.costs.new_mother, works::TraceCosts{}.new_mother);
}

TEST(FamilyFile, AWrongEntryIsRefusedAloneWithItsPlace) {
  std::string text = family_text;
  const auto put = [&](const std::string& from, const std::string& to) {
    const auto at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    text.replace(at, from.size(), to);
  };
  put(R"("impression": 17)", R"("impression": -17)");
  put(R"("impression": [20, 44])", R"("impression": [44, 20])");
  put(R"("kind": "father")", R"("kind": "uncle")");
  put(R"("after": "brushed")", R"("after": "dusted")");
  put(R"("wash": 5)", R"("wash": -5)");
  const auto read = read_family(text);
  ASSERT_TRUE(read);
  EXPECT_EQ(read->family.discs.size(), 1U);
  EXPECT_EQ(read->family.parts.size(), 3U);
  std::vector<std::string> said;
  for (const auto& one : read->refused) said.push_back(one.why);
  EXPECT_THAT(said, Contains(HasSubstr("$.discs[0].impression: -17 lies outside 1 to")));
  EXPECT_THAT(said, Contains(HasSubstr("$.discs[1].impression: 44 comes after 20")));
  EXPECT_THAT(said, Contains(HasSubstr("$.parts[1].kind: 'uncle' is none of cut, father")));
  EXPECT_THAT(said, Contains(HasSubstr("$.reports[0].after: 'dusted' is none of")));
  EXPECT_THAT(said, Contains(HasSubstr("$.costs.wash: an amount of 0 or more")));
}

TEST(FamilyFile, AnotherSchemaOrNoJsonIsRefusedWhole) {
  EXPECT_THAT(read_family("{").error().text, HasSubstr("the family file: no JSON from byte"));
  EXPECT_THAT(read_family(R"({"schema": "goodside.family/2"})").error().text,
              HasSubstr("$.schema: goodside.family/1 is read here"));
  EXPECT_THAT(read_family(R"({"schema": "goodside.family/1", "discs": 3})").error().text,
              HasSubstr("$.discs: "));
}

TEST(HeardPlay, IsWhatTheListeningReportSays) {
  const auto report = test::sample_report();
  const auto play = read_heard_play(write(report));
  ASSERT_TRUE(play) << play.error().text;
  EXPECT_EQ(play->length_s, report.reference->file.duration_s);
  EXPECT_NEAR(play->rpm, report.geometry.rpm, 1e-6);
  std::size_t placed = 0;
  for (const auto& fault : report.faults)
    placed += fault.programme_s && fault.audibility != works::Audibility::masked ? 1U : 0U;
  EXPECT_EQ(play->faults.size(), placed);
}

TEST(HeardPlay, SaysWhyAReportPlacesNothing) {
  EXPECT_THAT(read_heard_play(" \n").error().text, HasSubstr("the report is empty"));
  EXPECT_THAT(read_heard_play(R"({"schema": "goodside.listen/1", "reference": null})").error().text,
              HasSubstr("heard without its cut"));
  EXPECT_THAT(
      read_heard_play(
          R"({"schema": "goodside.listen/1", "reference": {}, "alignment": {"found": false}})")
          .error()
          .text,
      HasSubstr("the cut was not found"));
  EXPECT_THAT(
      read_heard_play(
          R"({"schema": "goodside.listen/1", "reference": {"duration_s": 60}, "geometry": {"rpm": 78},
              "alignment": {"found": true}, "heard": [], "faults": []})")
          .error()
          .text,
      HasSubstr("nothing was heard"));
}

works::TraceReport sample_trace() {
  works::TraceReport trace;
  works::RecurringFault fault;
  fault.id = 1;
  fault.programme_s = 192.25;
  fault.programme_sigma_s = 1e-5;
  fault.kind = works::FaultKind::pop;
  fault.pattern = works::PatternKind::radial;
  fault.places = 4;
  fault.revolution = 106;
  fault.angle_deg = 12.5;
  fault.radius_m = 0.128;
  fault.on = {"D1", "D2"};
  fault.heard = 7;
  fault.not_heard = {"D9"};
  fault.detection = 0.875;
  fault.chance = 1e-6;
  fault.cause = {.level = works::CauseLevel::stamper,
                 .id = "S1",
                 .posterior = 0.75,
                 .onset = works::CredibleImpressions{10, 40, 25},
                 .onset_grown = {},
                 .since_birth = 0.25,
                 .end = works::CauseEnd{0.5, {60, 80, 70}},
                 .same_discs = {"N1"},
                 .posterior_with_same = 0.875};
  works::Cause mother;
  mother.level = works::CauseLevel::mother;
  mother.id = "M1";
  mother.posterior = mother.posterior_with_same = 0.125;
  mother.onset_grown = works::CredibleImpressions{1, 3, 2};
  fault.alternatives = {mother};
  fault.suspect = {{{10, 90}}, 81, 40.5, {"K1"}, {"T1"}};
  fault.next = {{.act = works::ActKind::spot_hear,
                 .disc = "D30",
                 .part = "",
                 .carton = "K1",
                 .spindle = "",
                 .impression = works::Impressions{30, 30},
                 .where = "side A at 3:12.2",
                 .minutes = 5.0,
                 .gain_bits = 0.75,
                 .about = {1},
                 .caution = ""}};
  fault.hearings_needed = 3.5;
  fault.action = {.text = "wash",
                  .cost = 20.25,
                  .remedies = {{works::Remedy::wash, 15.0}, {works::Remedy::leave, 90.0}},
                  .stock = {{works::StockRemedy::inspect, 5.25}},
                  .caution = "Stop the press."};
  trace.recurring = {fault};
  trace.next = fault.next;
  trace.discs_heard = 7;
  trace.reports = 9;
  trace.faults = 31;
  trace.spread = {{"noise", {{"press", 0.5, 0.25, 1.0}, {"residual", 1.5, 1.0, 2.0}}}};
  trace.refused = {{"disc D9", "given twice"}};
  trace.remarks = {"one"};
  return trace;
}

// Property: write, read, write gives the same bytes.
TEST(TraceReport, ReturnsUnchanged) {
  const std::string text = write(sample_trace());
  const auto read = read_trace(text);
  ASSERT_TRUE(read) << read.error().text;
  EXPECT_EQ(write(*read), text);
  EXPECT_EQ(read->recurring[0].cause.end->first_without.best, 70);
  EXPECT_EQ(read->recurring[0].suspect.impressions[0], (works::Impressions{10, 90}));
  EXPECT_EQ(read->spread[0].components[1].source, "residual");
}

// Property: cut, altered or shuffled texts are read or refused in one line, and never end the
// program.
TEST(TraceContracts, AnyMutationIsReadOrRefusedInOneLine) {
  std::mt19937_64 random{5};
  for (const std::string& text : {std::string{family_text}, write(sample_trace())})
    for (int turn = 0; turn < 400; ++turn) {
      std::string altered = text;
      for (int i = 0; i < 3; ++i) {
        const auto at = static_cast<std::size_t>(random() % altered.size());
        if (random() % 3 == 0)
          altered.erase(at, 1 + random() % 5);
        else
          altered[at] = "0-9[]{}\",:nulltrue1e"[random() % 20];
        if (altered.empty()) altered.push_back('x');
      }
      const auto family = read_family(altered);
      const auto trace = read_trace(altered);
      if (!family) {
        EXPECT_EQ(family.error().text.find('\n'), std::string::npos);
      }
      if (!trace) {
        EXPECT_EQ(trace.error().text.find('\n'), std::string::npos);
      }
    }
}

}  // namespace
}  // namespace goodside::json
