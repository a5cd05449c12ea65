#include <gtest/gtest.h>

#include <csignal>
#include <sstream>

#include "cli/progress_bar.hpp"
#include "cli/stop.hpp"
#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

TEST(ProgressLine, FillsWithTheShareAndStaysWithinTheTerminal) {
  EXPECT_EQ(progress_line(0.5, "a.wav"), "  50 %  [###############...............]  a.wav");
  EXPECT_EQ(progress_line(-1.0, "a").substr(0, 7), "   0 % ");
  EXPECT_EQ(progress_line(9.0, "a").substr(0, 7), " 100 % ");
  EXPECT_LT(columns(progress_line(1.0, std::string(200, 'x'))), line_width);
}

TEST(ProgressBar, SaysNothingWithinTheFirstSecondNorWithoutATerminal) {
  std::ostringstream err;
  {
    ProgressBar quick{err, true, "a.wav"};
    quick.show(0.3);
    ProgressBar hidden{err, false, "a.wav"};
    hidden.show(0.3);
  }
  EXPECT_EQ(err.str(), "");
}

TEST(StopWatch, NotesTheFirstCtrlC) {
  const StopWatch watch;
  EXPECT_FALSE(StopWatch::asked());
  std::raise(SIGINT);
  EXPECT_TRUE(StopWatch::asked());
}

TEST(StopWatch, BeginsAfresh) {
  const StopWatch watch;
  EXPECT_FALSE(StopWatch::asked());
}

}  // namespace
}  // namespace goodside::cli
