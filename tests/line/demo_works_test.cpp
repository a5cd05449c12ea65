#include "line/demo_works.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "line/recordings.hpp"
#include "listen/listen.hpp"

namespace goodside::line {
namespace {

/// The whole loop: synthesise, press, play, listen, judge. The truth of the player is the measure;
/// the tolerances are those that a bench is asked for.
TEST(DemoWorks, TheBenchHearsWhatWasPutIn) {
  const test::Folder folder;
  const auto works = make_demo_works(folder / "works", 0, listen::listen, {});
  ASSERT_TRUE(works.has_value()) << works.error().text;
  ASSERT_EQ(works->discs.size(), 5U);
  for (const HeardDemoDisc& heard : works->discs) {
    SCOPED_TRACE(heard.disc.name);
    EXPECT_TRUE(heard.as_it_should_be());
    for (const std::string& path : {heard.disc.cut,
                                    heard.disc.capture,
                                    heard.disc.truth,
                                    heard.disc.report,
                                    heard.disc.portrait,
                                    heard.disc.page})
      EXPECT_GT(std::filesystem::file_size(path), 0U) << path;
    const bool right_title = heard.disc.cut == works->cut;
    ASSERT_TRUE(heard.report.alignment.has_value());
    EXPECT_EQ(heard.report.alignment->found, right_title);
    if (!right_title) continue;
    std::ostringstream page;
    page << std::ifstream{heard.disc.page}.rdbuf();
    if (!heard.report.faults.empty()) {
      EXPECT_NE(page.str().find("<span>difference</span><audio"), std::string::npos);
    }
    // The tune is silent for its first 0.1 s, through which nothing can be followed: a straight
    // line drawn on through it errs by the sway of the offset, e/r, and by a wander of 2e-4.
    const double sway = heard.truth.eccentricity_m / heard.truth.geometry.outer_radius_m;
    EXPECT_NEAR(heard.report.alignment->programme_start_s,
                heard.truth.programme_start_s,
                0.1 * (sway + 2e-4));
    ASSERT_TRUE(heard.report.wow.eccentricity_m.has_value());
    EXPECT_NEAR(*heard.report.wow.eccentricity_m, heard.truth.eccentricity_m, 0.01e-3);
    EXPECT_EQ(heard.found(), static_cast<int>(heard.truth.faults.size()));
    for (const works::TrueFault& put_in : heard.truth.faults) {
      // Discs of one cut are compared by programme time, to 0.1 ms. Only a tick is that short.
      if (put_in.kind != works::FaultKind::tick) continue;
      EXPECT_TRUE(std::any_of(heard.report.faults.begin(),
                              heard.report.faults.end(),
                              [&](const auto& fault) {
                                return fault.programme_s &&
                                       std::abs(*fault.programme_s - put_in.programme_s) < 1e-4;
                              }))
          << put_in.programme_s;
    }
  }
}

TEST(DemoWorks, StopsWhenAsked) {
  const test::Folder folder;
  const auto works = make_demo_works(
      folder / "works", 1, listen::listen, [](const std::string&, double) { return false; });
  ASSERT_FALSE(works.has_value());
  EXPECT_EQ(works.error().fault, Fault::conflict);
}

TEST(DemoWorks, SaysWhichFolderCannotBeMade) {
  const test::Folder folder;
  const std::string file = folder / "taken";
  std::ofstream{file} << "a file";
  const auto works = make_demo_works(file, 1, listen::listen, {});
  ASSERT_FALSE(works.has_value());
  EXPECT_EQ(works.error().fault, Fault::io);
  EXPECT_NE(works.error().text.find("taken"), std::string::npos);
}

}  // namespace
}  // namespace goodside::line
