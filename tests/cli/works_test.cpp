#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <sstream>

#include "base/sha256.hpp"
#include "cli/commands.hpp"
#include "cli/wrap.hpp"
#include "intake/compressed_file.hpp"
#include "json/listening_report.hpp"
#include "json/sample_report.hpp"
#include "json/trace_report.hpp"

namespace goodside::cli {
namespace {

using testing::HasSubstr;

std::vector<Command> works_commands() {
  std::vector<Command> all;
  for (const auto& family : {works_enter_commands(),
                             works_press_commands(),
                             works_sample_commands(),
                             works_disc_commands(),
                             works_ask_commands(),
                             works_keep_commands()})
    all.insert(all.end(), family.begin(), family.end());
  all.push_back(works_quarantine_command());
  all.push_back(works_lives_command());
  return all;
}

struct Said {
  int status{};
  std::string out, err;
};

Said say(const std::vector<std::string>& words) {
  std::ostringstream out, err;
  Console console{out, err, {}};
  const int status = run_line(works_commands(), words, console);
  return {status, out.str(), err.str()};
}

/// Typed as in docs/works.md, with the codes that each command answered put in for the words
/// `<name>`.
class Typist {
 public:
  Typist()
      : folder_{std::filesystem::temp_directory_path() /
                ("goodside-works-" + std::to_string(::getpid()))} {
    std::filesystem::remove_all(folder_);
  }
  Typist(const Typist&) = delete;
  Typist& operator=(const Typist&) = delete;
  ~Typist() { std::filesystem::remove_all(folder_); }

  Said type(std::vector<std::string> words) {
    for (std::string& word : words)
      for (const auto& [name, code] : codes_)
        for (auto at = word.find(name); at != std::string::npos; at = word.find(name))
          word.replace(at, name.size(), code);
    words.insert(words.begin(), "works");
    if (words[1] != "init") words.insert(words.end(), {"--in", folder_.string()});
    words.insert(words.end(), {"--by", "Ida"});
    return say(words);
  }
  /// A command that must be taken; the first code of its answer is kept as `name`.
  std::string good(const std::vector<std::string>& words, const std::string& name = "") {
    const Said said = type(words);
    EXPECT_EQ(said.status, 0) << words[0] << ": " << said.err;
    static const std::regex code{"\\b[A-Z]{1,2}-[0-9]+-[0-9A-Z]\\b"};
    std::smatch found;
    if (!name.empty() && std::regex_search(said.out, found, code))
      codes_["<" + name + ">"] = found.str();
    return said.out;
  }
  [[nodiscard]] std::string folder() const { return folder_.string(); }
  [[nodiscard]] std::string code(const std::string& name) const {
    return codes_.at("<" + name + ">");
  }

 private:
  std::filesystem::path folder_;
  std::map<std::string, std::string> codes_;
};

TEST(WorksCommands, AnOrderOfOnesOwnFromMetalToShipment) {
  Typist typist;
  typist.good({"init", typist.folder(), "--name", "Our Pressings"});
  typist.good({"add", "title", "name=Fallen Leaves"}, "title");
  typist.good({"add", "side", "title=<title>", "letter=A", "format=12in-33"}, "a");
  typist.good({"add", "cut", "side=<a>", "reference=a.wav", "pitch=240 lpi"}, "cut");
  typist.good({"add", "order", "title=<title>", "quantity=300", "due=2026-12-18"}, "order");
  typist.good({"add", "part", "kind=lacquer", "cut=<cut>"}, "lacquer");
  typist.good({"log", "<lacquer>", "silvered"});
  typist.good({"add", "part", "kind=father", "parent=<lacquer>", "presses=yes"}, "father");
  typist.good({"log", "<father>", "grown", "thickness=420 um", "current=95"});
  typist.good({"log", "<father>", "separated"});
  for (const char* step : {"backed", "centred", "punched", "trimmed", "inspected"})
    typist.good({"log", "<father>", step});
  typist.good({"add", "batch", "material=vinyl", "mass=80 kg"}, "batch");
  typist.good({"add", "press", "name=Press 1"}, "press");
  EXPECT_THAT(typist.good({"mount", "<press>", "--a", "<father>", "--counter", "100"}, "mounting"),
              HasSubstr("Caution"));
  typist.good({"add", "run", "order=<order>", "press=<press>"}, "run");
  const Said early = typist.type({"press", "<run>", "10"});
  EXPECT_EQ(early.status, 2);
  EXPECT_THAT(early.err, HasSubstr("not made yet"));
  typist.good({"approve", "<order>", "waived", "--words", "a re-pressing"});
  typist.good({"press", "<run>", "4", "--warm-up", "--counter", "104"});
  typist.good({"press", "<run>", "310", "--batch", "<batch>", "--counter", "414"});
  EXPECT_THAT(typist.good({"ticket", "<run>", "160"}, "ticket"),
              HasSubstr("are suspect until it is heard"));
  EXPECT_THAT(typist.good({"hear", "<ticket>", "good"}), HasSubstr("309 discs are let go"));
  typist.good({"move", "<run>", "edge-finished"});
  typist.good({"move",
               "<run>",
               "scrap",
               "--impressions",
               "30-60",
               "--quantity",
               "2",
               "--from",
               "edge-finished",
               "--reason",
               "chip"});
  typist.good({"move", "<run>", "good"});
  typist.good({"add", "carton", "order=<order>", "capacity=25"}, "carton");
  typist.good({"move", "<run>", "packed", "--quantity", "25", "--to-spot", "<carton>"});
  typist.good({"close", "<carton>", "25"});
  typist.good({"add", "shipment", "order=<order>", "to=Bath"}, "shipment");
  typist.good({"ship", "<shipment>", "<carton>"});

  const std::string from = typist.good({"from", "<run>", "200"});
  EXPECT_THAT(from, HasSubstr("father"));
  EXPECT_THAT(from, HasSubstr("lacquer"));
  EXPECT_THAT(from, HasSubstr("A 199"));
  EXPECT_EQ(typist.good({"from", "<ticket>"}).substr(0, 8), "disc 160");
  const std::string where = typist.good({"where", "<lacquer>"});
  EXPECT_THAT(where, HasSubstr("314 discs"));
  EXPECT_THAT(where, HasSubstr("25 shipped"));
  EXPECT_THAT(typist.good({"show", "<father>"}), HasSubstr("on press"));
  EXPECT_THAT(typist.good({"show", "carton"}), HasSubstr("gone"));
  EXPECT_THAT(typist.good({"events", "--count", "3"}), HasSubstr("ship"));
  EXPECT_THAT(typist.good({"hold", "<run>", "--impressions", "1-50", "--reason", "tick"}),
              HasSubstr("held as suspect"));
  EXPECT_THAT(typist.good({"check"}), HasSubstr("The count closes: 314 impressions"));
  EXPECT_THAT(typist.good({"check", "--json", "-"}), HasSubstr("\"closes\": true"));
  const Said wrong_head = typist.type({"check", "--head", "5:00000000"});
  EXPECT_EQ(wrong_head.status, 1);
  EXPECT_THAT(wrong_head.out, HasSubstr("is another than when its head was noted"));
}

// A report of the listening bench: its verdict counts, its faults are kept, its text lies compressed
// in the works folder, named by its hash.
TEST(WorksCommands, AReportIsKeptWithItsTicket) {
  Typist typist;
  typist.good({"init", typist.folder(), "--name", "Our Pressings"});
  typist.good({"add", "title", "name=Fallen Leaves"}, "title");
  typist.good({"add", "side", "title=<title>", "letter=A"}, "side");
  typist.good({"add", "order", "title=<title>", "quantity=10"}, "order");
  typist.good({"add", "part", "kind=stamper", "side=<side>", "origin=bought"}, "stamper");
  typist.good({"add", "press", "name=Press 1"}, "press");
  typist.good({"mount", "<press>", "--a", "<stamper>", "--counter", "0"});
  typist.good({"add", "run", "order=<order>", "press=<press>", "purpose=test"}, "run");
  typist.good({"press", "<run>", "10"});
  typist.good({"ticket", "<run>", "10"}, "ticket");
  works::ListeningReport report = test::sample_report();
  report.verdict.pass = false;
  const std::string text = json::write(report), file = typist.folder() + "/a.json";
  std::ofstream{file} << text;
  EXPECT_EQ(typist.type({"hear", "<ticket>", "--report", file}).status, 2);  // which side?
  EXPECT_EQ(typist.type({"hear", "<ticket>", "good", "--report", file, "--side", "A"}).status, 2);
  const Said bad =
      typist.type({"hear", "<ticket>", "--report", file, "--side", "A", "--words", "tick"});
  EXPECT_EQ(bad.status, 1);
  EXPECT_THAT(bad.out, HasSubstr("is bad; 0 discs are let go"));
  const std::string kept = typist.folder() + "/reports/" + sha256_hexadecimal(text) + ".json.gz";
  EXPECT_EQ(intake::read_compressed(kept, text.size()).value(), text);
  EXPECT_THAT(typist.good({"show", "report", "--json", "-"}), HasSubstr("\"pass\": 0"));
  const std::string faults = typist.good({"show", "fault", "--json", "-"});
  std::size_t count = 0;
  for (auto at = faults.find("\"report\""); at != std::string::npos;
       at = faults.find("\"report\"", at + 1))
    ++count;
  EXPECT_EQ(count,
            static_cast<std::size_t>(
                std::count_if(report.faults.begin(), report.faults.end(), [](const auto& fault) {
                  return fault.audibility != works::Audibility::masked;
                })));
  std::ofstream{file} << "{}";
  EXPECT_EQ(typist.type({"hear", "<ticket>", "--report", file, "--side", "A"}).status, 2);
  EXPECT_THAT(typist.good({"check"}), HasSubstr("The count closes"));
}

TEST(WorksCommands, BadRequestsAreOneLineAndChangeNothing) {
  Typist typist;
  typist.good({"init", typist.folder(), "--name", "Our Pressings"});
  typist.good({"add", "title", "name=Fallen Leaves"}, "title");
  const std::vector<std::vector<std::string>> wrong{
      {"add", "gramophone"},
      {"add", "title"},
      {"add", "title", "Fallen"},
      {"add", "title", "name=a", "colour=red"},
      {"log", "P-00001-X", "punched"},
      {"log", "<title>", "punched"},
      {"press", "<title>", "10"},
      {"press", "<title>", "-1"},
      {"press", "<title>", "many"},
      {"mount", "<title>", "--counter", "nan"},
      {"move", "<title>", "shelf"},
      {"hold", "<title>", "--impressions", "9-1", "--reason", "x"},
      {"hold", "<title>"},
      {"recount", "<title>", "1e9", "--reason", "x"},
      {"ticket", "<title>"},
      {"hear", "<title>"},
      {"hear", "<title>", "fine"},
      {"from", "<title>"},
      {"where", "T-9999-9"},
      {"show", "nothing here"},
      {"check", "--head", "x"},
      {"check", "--since", "yesterday"},
      {"quarantine", "none.json", "--fault", "1"},
      {"quarantine", typist.folder() + "/goodside.toml", "--fault", "1"},
      {"lives"},
      {"lives", "--lives", "none.csv"},
      {"lives", "--picture", "lives.gif"},
      {"reverse", "99", "--reason", "x"},
      {"reverse", "1", "--reason", "x"},
      {"import", "none.jsonl"},
      {"export"},
      {"restore", "none.db"},
      {"cards", "part", "none.csv"},
      {"captures", "/none"},
      {"approve", "<title>", "waived"},
      {"ship", "<title>", "<title>"},
      {"close", "<title>", "1"},
  };
  for (const auto& words : wrong) {
    const Said said = typist.type(words);
    EXPECT_EQ(said.status, 2) << words[0] << " " << said.out;
    EXPECT_EQ(said.err.find('\n'), said.err.size() - 1) << words[0] << ": " << said.err;
    EXPECT_TRUE(said.err.starts_with("goodside works " + words[0] + ": ")) << said.err;
  }
  EXPECT_THAT(typist.good({"check"}), HasSubstr("2 entries"));
  EXPECT_EQ(say({"works", "show", "title", "--in", "/none"}).status, 2);
  EXPECT_THAT(say({"works", "ad"}).err, HasSubstr("works add"));
  EXPECT_EQ(say({"works"}).status, 2);
}

/// A trace of one tick whose cause touched the title's impressions 50 to 99.
std::string trace_of(const std::string& side) {
  works::RecurringFault fault;
  fault.id = 1;
  fault.programme_s = 192.0;
  fault.cause.level = works::CauseLevel::stamper;
  fault.cause.id = "P-00004-K";
  fault.cause.posterior = 0.9;
  fault.suspect.impressions = {{50, 99}};
  fault.suspect.discs = 50;
  works::TraceReport trace;
  trace.works_side = side;
  trace.recurring = {fault};
  return json::write(trace);
}

TEST(WorksCommands, WhatATraceCallsSuspectIsHeldAndTakenBack) {
  Typist typist;
  typist.good({"init", typist.folder(), "--name", "Our Pressings"});
  typist.good({"add", "title", "name=Fallen Leaves"}, "title");
  typist.good({"add", "side", "title=<title>", "letter=A"}, "side");
  typist.good({"add", "order", "title=<title>", "quantity=200"}, "order");
  typist.good({"add", "press", "name=Press 1"}, "press");
  typist.good({"add", "batch", "material=vinyl"}, "batch");
  typist.good({"add", "part", "kind=stamper", "side=<side>", "origin=bought", "state=ready"},
              "stamper");
  typist.good({"mount", "<press>", "--a", "<stamper>", "--counter", "0"});
  typist.good({"add", "run", "order=<order>", "press=<press>"}, "run");
  typist.good({"approve", "<order>", "waived", "--words", "a re-pressing"});
  typist.good({"press", "<run>", "120", "--batch", "<batch>"});
  const std::string path = typist.folder() + "/trace.json";
  std::ofstream{path} << trace_of(typist.code("side"));

  EXPECT_THAT(typist.good({"quarantine", path, "--fault", "1", "--dry-run"}),
              testing::StartsWith("Would hold 50 discs as suspect; nothing was entered"));
  const std::string held = typist.good({"quarantine", path, "--fault", "1"});
  EXPECT_THAT(held, testing::StartsWith("50 discs held as suspect\n"));
  EXPECT_THAT(held, HasSubstr("The count closes."));
  EXPECT_THAT(typist.good({"quarantine", path, "--fault", "1"}), HasSubstr("Nothing to hold"));
  EXPECT_THAT(typist.good({"events", "--count", "1"}), HasSubstr("quarantine: fault 1 of"));
  EXPECT_THAT(typist.type({"quarantine", path, "--fault", "7"}).err, HasSubstr("it holds 1"));
  static const std::regex number{"reverse ([0-9]+)"};
  std::smatch found;
  ASSERT_TRUE(std::regex_search(held, found, number));
  typist.good({"reverse", found[1].str(), "--reason", "all clean"});
  EXPECT_THAT(typist.good({"where", "<run>"}), testing::Not(HasSubstr("suspect")));
  EXPECT_THAT(typist.good({"lives"}), HasSubstr("Too few lives: no stamper has ended yet"));
}

TEST(WorksCommands, LivesOfASpreadsheetNeedNoRecord) {
  Typist typist;
  typist.good({"init", typist.folder(), "--name", "Our Pressings"});
  const std::string path = typist.folder() + "/lives.csv";
  std::string table = "stamper,good_to,ended_by,cause,press\n";
  for (int i = 0; i < 14; ++i)
    table += fmt::format("S{0},{1},{2},{3},P{4}\n",
                         i,
                         700 + 90 * i,
                         i % 5 == 4 ? "" : std::to_string(780 + 90 * i),
                         i % 5 == 4 ? "" : "wear",
                         i % 2 + 1);
  std::ofstream{path} << table;
  const std::string picture = typist.folder() + "/lives.png",
                    again = typist.folder() + "/again.csv";
  const std::string said =
      typist.good({"lives", "--lives", path, "--picture", picture, "--save", again});
  EXPECT_THAT(said, testing::StartsWith("Pull at "));
  EXPECT_THAT(said, HasSubstr("14 stampers, 12 ended"));
  EXPECT_THAT(said, HasSubstr("by press: "));
  EXPECT_THAT(said, HasSubstr("the risk grows with age"));
  EXPECT_THAT(said, HasSubstr("costs are invented"));
  EXPECT_THAT(said, HasSubstr("Caution: "));
  std::istringstream lines{said};
  for (std::string line; std::getline(lines, line);) EXPECT_LE(columns(line), line_width) << line;
  EXPECT_GT(std::filesystem::file_size(picture), 1000U);
  EXPECT_EQ(typist.good({"lives", "--lives", again}), said);
  EXPECT_THAT(typist.good({"lives", "--lives", path, "--json", "-"}), HasSubstr("goodside.life/1"));
  std::ofstream{typist.folder() + "/goodside.toml", std::ios::app}
      << "[costs]\nnew_stamper = 140\nwash = 20\n";
  EXPECT_THAT(typist.good({"lives", "--lives", path}),
              HasSubstr("2 of 20 costs are the works' own"));
  std::ofstream{typist.folder() + "/goodside.toml", std::ios::app} << "disc = -3\n";
  const Said refused = typist.type({"lives", "--lives", path});
  EXPECT_EQ(refused.status, 2);
  EXPECT_THAT(refused.err, HasSubstr("costs.disc: -3 cannot be"));
}

TEST(WorksCommands, HelpKeepsWithinEightyColumns) {
  const Said family = say({"works", "--help"});
  EXPECT_EQ(family.status, 0);
  EXPECT_THAT(family.out, HasSubstr("\n  ticket "));
  std::string all = family.out + say({"--help"}).out;
  for (const Command& command : works_commands()) {
    const auto space = command.name.find(' ');
    const Said said =
        say({command.name.substr(0, space), command.name.substr(space + 1), "--help"});
    EXPECT_EQ(said.status, 0);
    EXPECT_THAT(said.out, HasSubstr("goodside " + command.name));
    all += said.out;
  }
  std::istringstream lines{all};
  for (std::string line; std::getline(lines, line);) EXPECT_LE(columns(line), line_width) << line;
}

}  // namespace
}  // namespace goodside::cli
