#pragma once
#include <functional>
#include <string>
#include <vector>

#include "cli/args.hpp"
#include "cli/console.hpp"

namespace goodside::cli {

/// One option of a subcommand. A name without dashes is a positional argument.
struct Option {
  std::string name = "";      ///< "--reference", or "captures"
  std::string value = "";     ///< what stands for the value in the help: "FILE"; empty: a flag
  std::string help = "";      ///< one sentence, units and choices in it
  std::string fallback = "";  ///< the default as the user would type it; empty: none
  bool required = false;
  bool several =
      false;          ///< an option that takes all words up to the next option; may be given again
  bool many = false;  ///< may be given again, or (positional) takes all that stand there
};

/// A subcommand: one thin file each. `run` parses its values, calls one job, prints, and returns
/// the exit status.
struct Command {
  std::string name;
  std::string help;     ///< one line: what it answers
  std::string example;  ///< one worked example with what it prints; lines of at most 78 columns
  std::vector<Option> options;
  std::function<int(const Args&, Console&)> run;
};

/// Parses `words` (without the program's own name), finds the subcommand and runs it. `--help` and
/// `--version` answer on console.out. Whatever cannot be understood, a near miss suggested, is one
/// line on console.err. Exceptions that reach it are our own fault. Returns the exit status.
int run_line(const std::vector<Command>& commands,
             const std::vector<std::string>& words,
             Console& console);

}  // namespace goodside::cli
