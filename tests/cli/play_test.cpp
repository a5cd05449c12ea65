#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <sstream>

#include "cli/commands.hpp"
#include "line/recordings.hpp"

namespace goodside::cli {
namespace {

struct Said {
  int status{};
  std::string out, err;
};

/// `goodside play` with words parted by spaces.
Said say(const std::string& line) {
  std::istringstream typed{"play " + line};
  std::vector<std::string> words;
  for (std::string word; typed >> word;) words.push_back(word);
  std::ostringstream out, err;
  Console console{out, err, {}};
  const int status = run_line({play_command()}, words, console);
  return {status, out.str(), err.str()};
}

TEST(Play, WritesACaptureAndSaysWhatIsInIt) {
  const test::Folder folder;
  const std::string cut = test::record(folder / "cut.wav", 4.0);
  const std::string capture = folder / "capture.wav";
  const std::string truth = folder / "truth.json";
  const Said said = say(cut + " --out " + capture + " --truth " + truth +
                        " --format 7in-45 --pitch 0.2mm --rate 48kHz --offset 0.2mm"
                        " --fault tick@2s --flutter 10Hz=0.02% --crosstalk -30");
  EXPECT_EQ(said.status, 0) << said.err;
  EXPECT_EQ(said.err, "");
  EXPECT_NE(said.out.find("hole 0.200 mm off centre"), std::string::npos) << said.out;
  EXPECT_NE(said.out.find("  tick "), std::string::npos) << said.out;
  EXPECT_TRUE(std::filesystem::exists(capture));
  EXPECT_TRUE(std::filesystem::exists(truth));
}

TEST(Play, RefusesInOneLineWithTheMendAndWritesNothing) {
  const test::Folder folder;
  const std::string cut = test::record(folder / "cut.wav", 4.0);
  const std::string capture = folder / "capture.wav";
  const auto expect_refusal = [&](const std::string& more, const char* says) {
    const Said said = say(cut + " --out " + capture + " " + more);
    EXPECT_EQ(said.status, 2) << more;
    EXPECT_EQ(said.out, "");
    EXPECT_NE(said.err.find(says), std::string::npos) << said.err;
    EXPECT_EQ(std::count(said.err.begin(), said.err.end(), '\n'), 1) << said.err;
    EXPECT_FALSE(std::filesystem::exists(capture));
  };
  expect_refusal("", "--format");
  expect_refusal("--format 8in-33", "12in-33");
  expect_refusal("--format 7in-45 --offset 9mm", "hole offset");
  expect_refusal("--format 7in-45 --arm-length 230mm", "together");
  expect_refusal("--format 7in-45 --fault tick", "--fault");
  expect_refusal("--format 7in-45 --fault tick@9s", "outside the programme");
  expect_refusal("--format 7in-45 --flutter 10Hz", "frequency=peak");
  expect_refusal("--format 7in-45 --seed 1.5", "--seed");
  expect_refusal("--format 7in-45 --rate 4kHz", "44100");
  expect_refusal("--format 7in-45 --speed-error nan", "--speed-error");
}

}  // namespace
}  // namespace goodside::cli
