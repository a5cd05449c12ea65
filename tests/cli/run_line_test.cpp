#include <gtest/gtest.h>

#include <sstream>
#include <stdexcept>

#include "cli/command.hpp"
#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

struct Said {
  int status;
  std::string out, err;
};

/// A command with an option of every shape, which prints what it was given.
Command weigh() {
  return {
      .name = "weigh",
      .help = "Weighs discs.",
      .example = "goodside weigh a.disc --scale bench\n\n2 discs",
      .options =
          {{.name = "discs", .value = "DISC", .help = "The discs.", .required = true, .many = true},
           {.name = "--scale", .value = "NAME", .help = "The scale.", .fallback = "bench"},
           {.name = "--offset", .value = "G", .help = "Zero error in grams."},
           {.name = "--note", .value = "TEXT", .help = "A note.", .many = true},
           {.name = "--dry", .help = "Without the tray."}},
      .run = [](const Args& args, Console& console) {
        if (args.text("--scale") == "broken")
          return console.refuse({Fault::io, "the scale\nis silent; plug it in"});
        if (args.text("--scale") == "bug") throw std::runtime_error("scale lost");
        for (const auto& disc : args.all("discs")) console.out() << "disc " << disc << '\n';
        for (const auto& note : args.all("--note")) console.out() << "note " << note << '\n';
        console.out() << "scale " << args.text("--scale") << " offset " << args.text("--offset")
                      << (args.given("--dry") ? " dry" : "") << '\n';
        return 1;
      }};
}

Said say(const std::vector<std::string>& words) {
  std::ostringstream out, err;
  Console console{out, err, {}};
  const int status = run_line({weigh()}, words, console);
  return {status, out.str(), err.str()};
}

TEST(RunLine, HandsEveryOptionToTheCommandAndReturnsItsStatus) {
  const Said said =
      say({"weigh", "a", "--note", "x", "b", "--note=y z", "--offset", "-3.5", "--dry"});
  EXPECT_EQ(said.err, "");
  EXPECT_EQ(said.out, "disc a\ndisc b\nnote x\nnote y z\nscale bench offset -3.5 dry\n");
  EXPECT_EQ(said.status, 1);
}

TEST(RunLine, SuggestsTheNearestOption) {
  const Said said = say({"weigh", "a", "--scael", "bench"});
  EXPECT_EQ(said.status, 2);
  EXPECT_EQ(said.err,
            "goodside weigh: there is no option `--scael`; did you "
            "mean `--scale`?\n");
  EXPECT_EQ(said.out, "");
}

TEST(RunLine, SuggestsTheNearestCommand) {
  const Said said = say({"wiegh"});
  EXPECT_EQ(said.status, 2);
  EXPECT_EQ(said.err, "goodside: there is no command `wiegh`; did you mean `weigh`?\n");
}

TEST(RunLine, RefusesInOneLineWhatIsMissingDoubledOrWithoutAValue) {
  EXPECT_EQ(say({"weigh"}).err, "goodside weigh: DISC is missing; see `goodside weigh --help`\n");
  for (const auto& words : std::vector<std::vector<std::string>>{
           {"weigh", "a", "--scale"}, {"weigh", "a", "--scale", "x", "--scale", "y"}}) {
    const Said said = say(words);
    EXPECT_EQ(said.status, 2);
    EXPECT_NE(said.err.find("--scale"), std::string::npos) << said.err;
    EXPECT_EQ(said.err.find('\n'), said.err.size() - 1);
  }
}

TEST(RunLine, SaysAnErrorInOneLineAndTellsOurFaultFromTheirs) {
  const Said theirs = say({"weigh", "a", "--scale", "broken"});
  EXPECT_EQ(theirs.status, 2);
  EXPECT_EQ(theirs.err, "goodside weigh: the scale is silent; plug it in\n");
  const Said ours = say({"weigh", "a", "--scale", "bug"});
  EXPECT_EQ(ours.status, 3);
  EXPECT_EQ(ours.err,
            "goodside weigh: this is our own fault (scale lost); "
            "please report the command\n");
}

TEST(RunLine, TheOverviewKeepsWithinEightyColumns) {
  const Said said = say({"--help"});
  EXPECT_EQ(said.status, 0);
  EXPECT_NE(said.out.find("\n  goodside weigh      Weighs discs.\n"), std::string::npos);
  std::istringstream lines{said.out};
  for (std::string line; std::getline(lines, line);) EXPECT_LE(columns(line), line_width) << line;
}

TEST(RunLine, HelpShowsTheWorkedExampleWithinEightyColumns) {
  const Said said = say({"weigh", "--help"});
  EXPECT_EQ(said.status, 0);
  EXPECT_NE(said.out.find("goodside weigh a.disc --scale bench"), std::string::npos);
  EXPECT_NE(said.out.find("Default: bench."), std::string::npos);
  std::istringstream lines{said.out};
  for (std::string line; std::getline(lines, line);) EXPECT_LE(columns(line), line_width) << line;
}

TEST(RunLine, VersionIsOneLine) {
  EXPECT_TRUE(say({"--version"}).out.starts_with("goodside 0."));
}

}  // namespace
}  // namespace goodside::cli
