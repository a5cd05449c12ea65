#include "works/part.hpp"

#include <gtest/gtest.h>

#include <vector>

namespace goodside::works {
namespace {

Part stamper() {
  return {.code = "P-00003-X", .kind = PartKind::stamper, .presses = true};
}

Part walked(Part part, const std::vector<Step>& steps) {
  for (const Step step : steps) {
    const auto next = after(part, step);
    EXPECT_TRUE(next.has_value()) << (next ? "" : next.error().text);
    if (next) part = *next;
  }
  return part;
}

const std::vector<Step> finishing{Step::grown,
                                  Step::separated,
                                  Step::faced,
                                  Step::backed,
                                  Step::washed,
                                  Step::centred,
                                  Step::punched,
                                  Step::trimmed,
                                  Step::inspected};

TEST(PartLife, AStamperGoesFromTheTankToThePressAndBack) {
  Part part = walked(stamper(), finishing);
  EXPECT_EQ(part.state, PartState::ready);
  EXPECT_EQ(part.face, 1);
  part = walked(part, {Step::mounted, Step::washed_on_press, Step::unmounted});
  EXPECT_EQ(part.state, PartState::resting);
  part = walked(part, {Step::mounted, Step::unmounted, Step::withdrawn, Step::scrapped});
  EXPECT_EQ(part.state, PartState::scrapped);
}

TEST(PartLife, ANewFaceHasItsOwnCount) {
  Part part = walked(stamper(), finishing);
  EXPECT_FALSE(after(part, Step::faced).has_value());
  part = walked(part, {Step::mounted, Step::unmounted, Step::chromium_stripped});
  EXPECT_EQ(part.state, PartState::finishing);
  EXPECT_FALSE(after(part, Step::chromium_stripped).has_value());
  part = walked(part, {Step::faced, Step::inspected});
  EXPECT_EQ(part.state, PartState::ready);
  EXPECT_EQ(part.face, 2);
}

TEST(PartLife, AStepThatTheStateForbidsIsRefusedWithTheReason) {
  const auto growing = after(stamper(), Step::punched);
  ASSERT_FALSE(growing.has_value());
  EXPECT_EQ(growing.error().fault, Fault::conflict);
  EXPECT_EQ(growing.error().text,
            "P-00003-X cannot be entered as punched: it is growing, and must be finishing");
  const Part separated = walked(stamper(), {Step::grown, Step::separated});
  EXPECT_NE(after(separated, Step::punched).error().text.find("centred"), std::string::npos);
  EXPECT_NE(after(separated, Step::inspected).error().text.find("punched"), std::string::npos);
  EXPECT_NE(after(separated, Step::mounted).error().text.find("ready or resting"),
            std::string::npos);
  const Part mounted = walked(walked(stamper(), finishing), {Step::mounted});
  EXPECT_FALSE(after(mounted, Step::scrapped).has_value());
  EXPECT_FALSE(after(mounted, Step::mounted).has_value());
  const Part gone = walked(separated, {Step::scrapped});
  for (int step = 0; step <= static_cast<int>(Step::scrapped); ++step)
    EXPECT_FALSE(after(gone, static_cast<Step>(step)).has_value());
}

TEST(PartLife, OnlyAFatherThatPressesGoesOnAPress) {
  Part father{.code = "P-2", .kind = PartKind::father, .state = PartState::ready};
  EXPECT_FALSE(after(father, Step::mounted).has_value());
  father.presses = true;
  EXPECT_TRUE(after(father, Step::mounted).has_value());
}

TEST(Growth, FollowsTheFamilyAndNeedsAFreshFilm) {
  Parent parent{.part = {.code = "P-1", .kind = PartKind::lacquer, .state = PartState::ready}};
  EXPECT_NE(may_grow(PartKind::father, parent).error().text.find("silvered"), std::string::npos);
  parent.films = 1;
  EXPECT_TRUE(may_grow(PartKind::father, parent).has_value());
  EXPECT_FALSE(may_grow(PartKind::stamper, parent).has_value());
  parent.another_growing = true;
  EXPECT_FALSE(may_grow(PartKind::father, parent).has_value());

  Parent mother{.part = {.code = "P-3", .kind = PartKind::mother, .state = PartState::ready},
                .films = 1,
                .children = 1};
  EXPECT_NE(may_grow(PartKind::stamper, mother).error().text.find("passivated"), std::string::npos);
  mother.films = 2;
  EXPECT_TRUE(may_grow(PartKind::stamper, mother).has_value());
  mother.part.state = PartState::withdrawn;
  EXPECT_FALSE(may_grow(PartKind::stamper, mother).has_value());
}

TEST(PartWords, AreReadAsTheyAreWritten) {
  for (int i = 0; i <= static_cast<int>(Step::scrapped); ++i)
    EXPECT_EQ(read_step(word(static_cast<Step>(i))).value(), static_cast<Step>(i));
  for (int i = 0; i <= static_cast<int>(PartState::scrapped); ++i)
    EXPECT_EQ(read_part_state(word(static_cast<PartState>(i))).value(), static_cast<PartState>(i));
  for (int i = 0; i <= static_cast<int>(PartKind::stamper); ++i)
    EXPECT_EQ(read_part_kind(word(static_cast<PartKind>(i))).value(), static_cast<PartKind>(i));
  EXPECT_FALSE(read_step("polished").has_value());
}

}  // namespace
}  // namespace goodside::works
