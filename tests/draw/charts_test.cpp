#include "draw/charts.hpp"

#include <gtest/gtest.h>

#include <algorithm>

namespace goodside::draw {
namespace {

Charts two_frames() {
  ChartFrame frame{
      .x_title = "time, s",
      .y_title = "temperature, °C",
      .curves = {{"face", {{0.0, 20.0}, {10.0, 150.0}}}, {"middle", {{2.0, 140.0}, {9.0, 60.0}}}},
      .events = {{2.0, "closes"}, {2.1, "steam off"}, {9.9, "opens"}},
      .levels = {{135.0, "flows above"}},
      .height = 2.0};
  return {"Temperatures", "vinyl", {frame, frame}};
}

bool holds(const std::vector<PlacedText>& texts, const std::string& words) {
  return std::ranges::any_of(texts, [&](const auto& one) { return one.text == words; });
}

TEST(Charts, NameCurvesEventsAndLevelsApart) {
  const auto texts = charts_texts(two_frames(), {.limits = {}});
  ASSERT_TRUE(texts.has_value());
  for (const char* words :
       {"Temperatures", "face", "middle", "closes", "steam off", "opens", "flows above"})
    EXPECT_TRUE(holds(*texts, words)) << words;
  for (std::size_t i = 0; i < texts->size(); ++i)
    for (std::size_t j = 0; j < i; ++j)
      EXPECT_FALSE((*texts)[i].box.meets((*texts)[j].box))
          << (*texts)[i].text << " on " << (*texts)[j].text;
  EXPECT_EQ(charts({}, {.limits = {}}).error().fault, Fault::bad_input);
  EXPECT_EQ(charts(two_frames(), {.width_px = 10, .limits = {}}).error().fault,
            Fault::out_of_range);
}

TEST(StateMap, NamesTheStatesThatItShows) {
  using enum StateMap::State;
  const StateMap map{"Window",
                     "vinyl",
                     "steam, bar",
                     "water time, s",
                     {6.0, 9.0},
                     {5.0, 12.0},
                     {soft, soft, cold, good},
                     {9.0, 12.0}};
  const auto texts = state_map_texts(map, {.limits = {}});
  ASSERT_TRUE(texts.has_value());
  EXPECT_TRUE(holds(*texts, "not set"));
  EXPECT_TRUE(holds(*texts, "groove not filled"));
  EXPECT_TRUE(holds(*texts, "the setting at hand"));
  EXPECT_FALSE(holds(*texts, "dishes"));
  EXPECT_EQ(state_map({}, {.limits = {}}).error().fault, Fault::bad_input);
}

}  // namespace
}  // namespace goodside::draw
