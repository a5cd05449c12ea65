#include "cli/paint_trace.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>
#include <string>

#include "draw/sample_families.hpp"

namespace goodside::cli {
namespace {

namespace fs = std::filesystem;

class PaintTrace : public ::testing::Test {
 protected:
  void SetUp() override {
    fs::remove_all(folder_);
    fs::create_directory(folder_);
    const auto sample = draw::samples::hurt_mother(2, 3, 20, 600);
    traced_ = {.family = sample.family, .trace = {}, .plays = sample.plays};
    traced_.trace.recurring = {sample.fault, sample.fault};
  }
  void TearDown() override { fs::remove_all(folder_); }

  [[nodiscard]] std::vector<std::string> files() const {
    std::vector<std::string> names;
    for (const auto& entry : fs::directory_iterator{folder_})
      names.push_back(entry.path().filename());
    return names;
  }

  fs::path folder_{fs::path{::testing::TempDir()} /
                   ("goodside_paint_trace_" + std::to_string(::getpid()))};
  line::TracedFamily traced_;
};

TEST_F(PaintTrace, WritesThreePicturesAFault) {
  ASSERT_TRUE(paint_trace(traced_, (folder_ / "trace.svg").string()));
  EXPECT_THAT(files(),
              ::testing::UnorderedElementsAre("trace.svg",
                                              "trace-impressions.svg",
                                              "trace-discs.svg",
                                              "trace-2.svg",
                                              "trace-2-impressions.svg",
                                              "trace-2-discs.svg"));
}

TEST_F(PaintTrace, LeavesOutWhatHasNothingToShow) {
  for (auto& disc : traced_.family.discs) disc.impression.reset();
  traced_.trace.recurring.resize(1);
  ASSERT_TRUE(paint_trace(traced_, (folder_ / "trace.png").string()));
  EXPECT_THAT(files(), ::testing::UnorderedElementsAre("trace.png", "trace-discs.png"));
}

TEST_F(PaintTrace, RefusesAnotherEnding) {
  const auto painted = paint_trace(traced_, (folder_ / "trace.gif").string());
  ASSERT_FALSE(painted);
  EXPECT_EQ(painted.error().fault, Fault::bad_input);
  EXPECT_TRUE(files().empty());
}

}  // namespace
}  // namespace goodside::cli
