#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "draw/contact_sheet.hpp"
#include "draw/family_tree.hpp"
#include "draw/impression_strip.hpp"
#include "draw/place_heard.hpp"
#include "draw/sample_families.hpp"
#include "draw/trace_words.hpp"

namespace goodside::draw {
namespace {

using samples::TracedFamily;
using ::testing::Contains;
using ::testing::Field;
using ::testing::HasSubstr;
using ::testing::Not;

struct Named {
  const char* name;
  TracedFamily traced;
};

std::vector<Named> families() {
  std::vector<Named> all{{"small", samples::hurt_mother(2, 3, 20, 600)},
                         {"single", samples::hurt_mother(2, 2, 7, 90)},
                         {"large", samples::hurt_mother(3, 12, 400, 6000)},
                         {"dense", samples::hurt_mother(2, 2, 400, 2000)},
                         {"huge", samples::hurt_mother(6, 60, 900, 30000)}};
  for (auto& [name, traced] : all) {
    // Names as long as a works may give them, and nothing known of some discs.
    traced.family.parts.back().id += "-grown-in-the-second-tank";
    traced.family.discs.front().impression.reset();
  }
  return all;
}

void expect_apart(const std::string& name, const std::vector<PlacedText>& texts, double height) {
  for (std::size_t i = 0; i < texts.size(); ++i) {
    const Box& box = texts[i].box;
    EXPECT_TRUE(box.x >= 0.0 && box.y >= 0.0 && box.x + box.width <= trace_width &&
                box.y + box.height <= height)
        << name << ": " << texts[i].text;
    for (std::size_t j = 0; j < i; ++j)
      EXPECT_FALSE(box.meets(texts[j].box))
          << name << ": " << texts[i].text << " / " << texts[j].text;
  }
}

std::vector<std::string> words(const std::vector<PlacedText>& texts) {
  std::vector<std::string> result;
  for (const auto& one : texts) result.push_back(one.text);
  return result;
}

const TracePictureOptions options{.title = "Tarnholt Waltz", .date = "2026-11-26"};

TEST(TracePictures, NoTextTouchesAnotherOrLeavesThePage) {
  for (const auto& [name, traced] : families()) {
    const auto& [family, plays, fault] = traced;
    expect_apart(name, family_tree_texts(family, fault, plays, options).value(), trace_height);
    expect_apart(name, impression_strip_texts(family, fault, plays, options).value(), trace_height);
    auto paged = options;
    paged.format = PictureFormat::pdf;
    const auto sheets = contact_sheet_texts(family, fault, plays, paged);
    ASSERT_TRUE(sheets);
    for (const auto& texts : *sheets) expect_apart(name, texts, trace_height);
    expect_apart(name, contact_sheet_texts(family, fault, plays, options).value().front(), 1e5);
  }
}

TEST(TracePictures, TheTreeSaysWhichPartDidItAndHowSurely) {
  const auto traced = samples::hurt_mother(3, 12, 400, 6000);
  const auto said =
      words(family_tree_texts(traced.family, traced.fault, traced.plays, options).value());
  EXPECT_EQ(said.front(), "Tick at 3:42.4, side A: mother MO-2, 96 %");
  EXPECT_THAT(said, Contains("MO-2"));
  EXPECT_THAT(said, Contains("96 %"));
  EXPECT_THAT(said, Contains("3 %"));
  EXPECT_THAT(said, Contains("Not of this metal: press PR-2 1 %"));
  // Every part of the family stands there, and both mountings of each stamper.
  for (const auto& part : traced.family.parts) EXPECT_THAT(said, Contains(part.id));
  EXPECT_THAT(said, Contains(HasSubstr("MT-24")));
}

TEST(TracePictures, TheTreeLeavesOutOnlyWhatTheFaultHasNotTouched) {
  const auto traced = samples::hurt_mother(6, 60, 900, 30000);
  const auto said =
      words(family_tree_texts(traced.family, traced.fault, traced.plays, options).value());
  EXPECT_THAT(said, Contains(HasSubstr("more without it")));
  for (int stamper = 2; stamper <= 60; stamper += 6)
    EXPECT_THAT(said, Contains(fmt::format("ST-{:02}", stamper)));
}

// A circle of parents is refused elsewhere; here it must only not hang.
TEST(TracePictures, ACircleOfParentsIsDrawnAsRoots) {
  auto traced = samples::hurt_mother(2, 3, 20, 600);
  traced.family.parts[1].parent = "MO-1";
  const auto texts = family_tree_texts(traced.family, traced.fault, traced.plays, options);
  ASSERT_TRUE(texts);
  EXPECT_THAT(words(*texts), Contains("FA-1"));
}

TEST(TracePictures, TheStripSaysWhereItBegins) {
  const auto traced = samples::hurt_mother(3, 12, 400, 6000);
  const auto said =
      words(impression_strip_texts(traced.family, traced.fault, traced.plays, options).value());
  EXPECT_THAT(said, Contains("begins at 2400, 90 %: 2380 to 2470"));
  EXPECT_THAT(said, Contains("Hear next (ringed): disc D-0161, impression 2401"));
  EXPECT_THAT(said, Contains("suspect stock"));
}

// By hand: three discs of one family heard, one of them only in its first minutes.
TEST(PlaceHeard, GrooveThatWasNotHeardIsNotClean) {
  works::Family family;
  for (const char* id : {"with", "without", "excerpt", "never"})
    family.discs.emplace_back().id = id;
  works::RecurringFault fault;
  fault.programme_s = 300.0;
  fault.on = {"with"};
  std::vector<works::HeardPlay> plays(4);
  plays[0].disc = "with";
  plays[1].disc = "without";
  plays[2].disc = "excerpt";
  plays[2].heard = {{0.0, 200.0}, {400.0, 500.0}};
  plays[3].disc = "never";
  plays[3].side = works::DiscSide::B;
  EXPECT_EQ(
      place_heard(family, fault, plays),
      (std::vector{
          PlaceHeard::fault, PlaceHeard::clean, PlaceHeard::not_heard, PlaceHeard::not_heard}));
}

TEST(TracePictures, EveryFormatBeginsAsItShouldAndComesOutTheSameTwice) {
  const auto traced = samples::hurt_mother(2, 3, 20, 600);
  const struct {
    PictureFormat format;
    std::string magic;
  } formats[] = {{PictureFormat::png, "\x89PNG\r\n"},
                 {PictureFormat::svg, "<?xml"},
                 {PictureFormat::pdf, "%PDF-"}};
  for (const auto draw : {family_tree, impression_strip, contact_sheet})
    for (const auto& [format, magic] : formats) {
      const TracePictureOptions one{.format = format, .width_px = 800};
      const auto once = draw(traced.family, traced.fault, traced.plays, one);
      ASSERT_TRUE(once);
      EXPECT_EQ(once->substr(0, magic.size()), magic);
      EXPECT_EQ(*once, *draw(traced.family, traced.fault, traced.plays, one));
    }
}

TEST(TracePictures, WhatCannotBeDrawnIsSaid) {
  const auto traced = samples::hurt_mother(2, 3, 20, 600);
  EXPECT_EQ(family_tree(traced.family, traced.fault, traced.plays, {.width_px = 20}).error().fault,
            Fault::out_of_range);
  const works::Family none;
  EXPECT_EQ(family_tree(none, traced.fault, {}, {}).error().fault, Fault::bad_input);
  EXPECT_EQ(impression_strip(none, traced.fault, {}, {}).error().fault, Fault::bad_input);
  EXPECT_EQ(contact_sheet(traced.family, traced.fault, {}, {}).error().fault, Fault::bad_input);
}

TEST(TraceWords, SayACauseAsTheTradeDoes) {
  works::Cause cause;
  cause.level = works::CauseLevel::mounting;
  cause.id = "MT-4";
  cause.onset = works::CredibleImpressions{401, 430, 412};
  EXPECT_EQ(named(cause), "mounting MT-4");
  EXPECT_EQ(since(cause), "since impression 412 (90 %: 401 to 430)");
  EXPECT_EQ(percent(0.964), "96 %");
  EXPECT_EQ(percent(0.9991), "> 99 %");
  EXPECT_EQ(percent(0.0004), "< 1 %");
}

}  // namespace
}  // namespace goodside::draw
