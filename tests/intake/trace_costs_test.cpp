#include "intake/trace_costs.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace goodside::intake {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;

std::string refusal(std::string_view text) {
  const auto costs = costs_from_toml(text, "goodside.toml");
  if (costs) return {};
  EXPECT_EQ(costs.error().fault, Fault::bad_input);
  EXPECT_EQ(costs.error().text.find('\n'), std::string::npos);
  return costs.error().text;
}

TEST(TraceCosts, AreInventedWhereAWorksSaysNothing) {
  const auto costs = costs_from_toml("name = \"a works\"\n", "goodside.toml");
  ASSERT_TRUE(costs);
  EXPECT_EQ(costs->told, 0U);
  EXPECT_EQ(costs->new_stamper, works::TraceCosts{}.new_stamper);
  EXPECT_THAT(works::invented_costs(*costs), HasSubstr("invented"));
}

TEST(TraceCosts, OfTheWorksTakeThePlaceOfTheInventedOnes) {
  const auto costs =
      costs_from_toml("[costs]\nwash = 22\nhear_min = 31.5\ndisc = 0\n", "goodside.toml");
  ASSERT_TRUE(costs) << costs.error().text;
  EXPECT_EQ(costs->wash, 22.0);
  EXPECT_EQ(costs->hear_min, 31.5);
  EXPECT_EQ(costs->disc, 0.0);
  EXPECT_EQ(costs->told, 3U);
  EXPECT_THAT(works::invented_costs(*costs), StartsWith("3 of 20 costs are the works' own"));
}

// Property: what is printed to begin from is read back as it stands, all of it told.
TEST(TraceCosts, TheTableToBeginFromReadsBack) {
  const auto costs = costs_from_toml(default_costs_toml(), "goodside.toml");
  ASSERT_TRUE(costs) << costs.error().text;
  EXPECT_EQ(costs->told, works::cost_items.size());
  const works::TraceCosts invented;
  for (const auto& item : works::cost_items)
    EXPECT_EQ((*costs).*item.value, invented.*item.value) << item.name;
  EXPECT_EQ(works::invented_costs(*costs), "");
}

TEST(TraceCosts, RefuseWhatCannotBeInOneLineWithFileAndLine) {
  EXPECT_THAT(
      refusal("[costs]\nwahs = 1\n"),
      AllOf(StartsWith("goodside.toml:2: costs.wahs: "), HasSubstr("did you mean `wash`?")));
  EXPECT_THAT(refusal("[costs]\nbananas = 1\n"), HasSubstr("known are hear_min, "));
  EXPECT_THAT(refusal("\n[costs]\nwash = -1\n"),
              AllOf(StartsWith("goodside.toml:3: costs.wash: "), HasSubstr("0 or more")));
  EXPECT_THAT(refusal("[costs]\nhear_min = 0\n"), HasSubstr("above 0"));
  EXPECT_NE(refusal("[costs]\nwash = nan\n"), "");
  EXPECT_NE(refusal("[costs]\nwash = inf\n"), "");
  EXPECT_NE(refusal("[costs]\nwash = 1e12\n"), "");
  EXPECT_NE(refusal("[costs]\nwash = \"much\"\n"), "");
  EXPECT_NE(refusal("costs = 3\n"), "");
  EXPECT_NE(refusal("[costs\n"), "");
}

}  // namespace
}  // namespace goodside::intake
