#include "works/kind.hpp"

#include <gtest/gtest.h>

#include <set>
#include <string>

#include "works/code.hpp"

namespace goodside::works {
namespace {

TEST(Kinds, EveryPatternIsOneAndNoTwoShareTheirBeginning) {
  std::set<std::string> beginnings;
  for (const Kind& kind : kinds()) {
    const auto pattern = CodePattern::parse(kind.pattern);
    ASSERT_TRUE(pattern.has_value()) << kind.name;
    EXPECT_TRUE(
        beginnings.insert(std::string{kind.pattern.substr(0, kind.pattern.find('#'))}).second)
        << kind.name;
  }
}

TEST(Kinds, EveryReferenceNamesATableThatComesBefore) {
  std::set<std::string_view> before;
  for (const Kind& kind : kinds()) {
    before.insert(kind.table);
    for (const Field& field : kind.fields) {
      if (field.type == Field::Type::code) {
        EXPECT_TRUE(before.contains(field.refers_to)) << kind.name << " " << field.name;
      }
      if (field.type == Field::Type::quantity && !field.unit.empty()) {
        EXPECT_TRUE(field.name.ends_with(std::string{"_"}.append(field.unit))) << field.name;
      }
    }
  }
}

TEST(Kinds, AFieldIsTypedWithOrWithoutItsUnit) {
  const Kind& batch = kind_of_table("batch");
  EXPECT_EQ(find_field(batch, "mass"), find_field(batch, "mass_kg"));
  ASSERT_NE(find_field(batch, "mass"), nullptr);
  EXPECT_EQ(find_field(batch, "mas"), nullptr);
  EXPECT_EQ(find_field(batch, "weight"), nullptr);
  EXPECT_FALSE(find_kind("gramophone").has_value());
}

}  // namespace
}  // namespace goodside::works
