#include "base/result.hpp"

#include <gtest/gtest.h>

#include <memory>
#include <string>
#include <type_traits>
#include <utility>

namespace goodside {
namespace {

Result<std::string> named(bool well) {
  if (well) return std::string{"father"};
  return Error{Fault::not_found, "no part is called so"};
}

TEST(Result, HoldsAValueUnderTheNamesOfStdExpected) {
  auto part = named(true);
  ASSERT_TRUE(part.has_value());
  EXPECT_TRUE(static_cast<bool>(part));
  EXPECT_EQ(*part, "father");
  EXPECT_EQ(part.value(), "father");
  EXPECT_EQ(part->size(), 6u);
  part->append(" 2");
  EXPECT_EQ(*part, "father 2");
  EXPECT_EQ(part.value_or("none"), "father 2");
  EXPECT_TRUE((std::is_same_v<Result<std::string>::value_type, std::string>));
}

TEST(Result, HoldsAnErrorWithItsFaultAndItsSentence) {
  const auto part = named(false);
  ASSERT_FALSE(part.has_value());
  EXPECT_FALSE(static_cast<bool>(part));
  EXPECT_EQ(part.error().fault, Fault::not_found);
  EXPECT_EQ(part.error().text, "no part is called so");
  EXPECT_EQ(part.value_or("none"), "none");
}

TEST(Result, ReadingAFailedOneThrowsAndSaysWhy) {
  auto part = named(false);
  const auto& unchanged = part;
  EXPECT_THROW((void)*part, std::logic_error);
  EXPECT_THROW((void)unchanged.value(), std::logic_error);
  EXPECT_THROW((void)part->size(), std::logic_error);
  EXPECT_THROW((void)std::move(part).value(), std::logic_error);
  try {
    (void)unchanged.value();
    FAIL() << "a failed Result was read";
  } catch (const std::logic_error& error) {
    EXPECT_NE(std::string{error.what()}.find("no part is called so"), std::string::npos);
  }
}

TEST(Result, AskingAGoodOneForItsErrorThrows) {
  const auto part = named(true);
  EXPECT_THROW((void)part.error(), std::bad_variant_access);
}

TEST(Result, CarriesWhatCanOnlyBeMoved) {
  Result<std::unique_ptr<int>> owned{std::make_unique<int>(78)};
  const std::unique_ptr<int> taken = *std::move(owned);
  EXPECT_EQ(*taken, 78);
}

TEST(Outcome, IsDoneOrAnError) {
  const Outcome good = Done{};
  const Outcome bad = Error{Fault::io, "the disc is full"};
  EXPECT_TRUE(good.has_value());
  EXPECT_FALSE(bad.has_value());
}

}  // namespace
}  // namespace goodside
