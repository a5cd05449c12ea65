#include "intake/press_logs.hpp"

#include <gtest/gtest.h>

#include "intake/press_file.hpp"

namespace goodside::intake {
namespace {

TEST(PressLogs, ReadPlacesTimesAndGaps) {
  const auto log = thermocouples_from_csv(
      "time_s,a_face,b_12.5mm,middle\n0,20,25,\n1,30,26,\n2,40,27,140\n3,50,28,139\n4,60,29,138\n",
      "log.csv");
  ASSERT_TRUE(log.has_value()) << log.error().text;
  ASSERT_EQ(log->places.size(), 3U);
  EXPECT_EQ(log->places[0].side, 0);
  EXPECT_FALSE(log->places[0].depth_m.has_value());
  EXPECT_DOUBLE_EQ(*log->places[1].depth_m, 0.0125);
  EXPECT_FALSE(log->places[2].temperature_K[0].has_value());
  EXPECT_DOUBLE_EQ(*log->places[2].temperature_K[2], 413.15);
  const auto charges =
      charges_from_csv("diameter_mm,mass_g,thickness_mm\n200,110,2.6\n210,130,2.8\n", "l.csv");
  ASSERT_TRUE(charges.has_value());
  EXPECT_DOUBLE_EQ((*charges)[1].mass_kg, 0.130);
}

TEST(PressLogs, RefuseInOneLineWithTheirPlace) {
  struct Row {
    const char *text, *part;
  };
  for (const auto& [text, part] :
       {Row{"a_face\n20\n", "time_s"},
        Row{"time_s\n0\n", "column a thermocouple"},
        Row{"time_s,a_-3mm\n0,2\n", "names no place"},
        Row{"time_s,a_face\n0,20\n0,21\n", "log.csv:3: time_s: does not grow"},
        Row{"time_s,a_face\n0,900\n", "log.csv:2: a_face"},
        Row{"time_s,a_face\n0,nan\n", "is no number"},
        Row{"time_s,a_face\n0,20\n1,21\n", "too few"}}) {
    const auto log = thermocouples_from_csv(text, "log.csv");
    ASSERT_FALSE(log.has_value()) << text;
    EXPECT_NE(log.error().text.find(part), std::string::npos) << log.error().text;
  }
  EXPECT_FALSE(charges_from_csv("mass_g,diameter_mm\n1,2\n", "l.csv").has_value());
  EXPECT_FALSE(
      charges_from_csv("mass_g,diameter_mm,thickness_mm\n110,200,2\n", "l.csv").has_value());
}

TEST(PressFile, HandsOverFiguresCompoundFirstSidesApart) {
  std::string seen;
  const auto take = [&](const std::string& name, const std::string& text) {
    seen += name + "=" + text + ";";
    return name == "bad" ? Outcome{Error{Fault::bad_input, "no such input"}} : Outcome{Done{}};
  };
  ASSERT_TRUE(
      press_from_toml("channels = 22\ncompound = \"vinyl\"\n[a]\nwater = \"15 °C\"\n[fitted]\n"
                      "steam_factor = 0.04\n",
                      "p.toml",
                      take)
          .has_value());
  EXPECT_EQ(seen, "compound=vinyl;channels=22;a.water=15 °C;fitted.steam_factor=0.04;");
  const auto bad = press_from_toml("force = \"1 kN\"\nbad = 3\n", "p.toml", take);
  ASSERT_FALSE(bad.has_value());
  EXPECT_EQ(bad.error().text, "p.toml:2: bad: no such input");
}

}  // namespace
}  // namespace goodside::intake
