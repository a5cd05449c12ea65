#pragma once
#include <condition_variable>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "json/node.hpp"
#include "serve/calculation_table.hpp"
#include "serve/given_files.hpp"

namespace goodside::serve {

/// What somebody asks a station to reckon.
struct CalculationAsked {
  const Calculation& calculation;
  const json::Node&
      options;  ///< an object: names of the table with text, true, a list, a file's id
  std::string who;
  bool log{};          ///< enter the answer in the record, as the command does
  std::string log_to;  ///< what it is entered to
};

/// The command's own answer.
struct Calculated {
  bool within{};               ///< it ended with 0, not with 1
  std::string words;           ///< what it says at a terminal
  std::string headline, next;  ///< of that: its first line, and what to do next
  std::vector<std::string> cautions;
  json::Node result;                  ///< of --json
  json::Node::List pictures;          ///< {name, title, svg}
  std::optional<std::int64_t> entry;  ///< of the record, where it was entered
};

/// Runs the commands of the table, this program itself in a child process of low priority: the page's
/// figures are the command's. Two at once; who waits longer than some seconds is sent away (503), and
/// whatever takes longer than `longest_s` is stopped. From any thread; throws Stop, with the command's
/// own sentence (422) where it refuses.
class Calculations {
 public:
  Calculations(std::string works, GivenFiles& files) : works_{std::move(works)}, files_{files} {}

  [[nodiscard]] Calculated run(const CalculationAsked& asked);
  /// What runs ends, and nothing begins any more.
  void stop();

  static constexpr int longest_s = 120;

 private:
  class Turn;
  struct Words;
  [[nodiscard]] Words words_of(const CalculationAsked& asked, const std::string& json) const;
  [[nodiscard]] bool stopping();

  std::string works_;
  GivenFiles& files_;
  std::mutex guard_;
  std::condition_variable freed_;
  int running_{}, waiting_{};
  bool stopping_{};
};

}  // namespace goodside::serve
