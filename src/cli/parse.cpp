#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <exception>
#include <iterator>

#include "base/near_miss.hpp"
#include "cli/command.hpp"
#include "cli/help.hpp"

// The only source file that includes CLI11: parsing it costs seconds.

namespace goodside::cli {
namespace {

bool is_option(std::string_view word) {
  return word.size() > 1 && word.front() == '-';
}

std::string see_help(const Command& command) {
  return fmt::format("see `goodside {} --help`", command.name);
}

Error no_such_command(const std::vector<Command>& commands, const std::string& word) {
  std::vector<std::string> names{"--help", "--version"};
  for (const Command& command : commands) names.push_back(command.name);
  return {Fault::bad_input,
          fmt::format("there is no command `{}`; {}",
                      word,
                      suggestion(word, names).value_or("see `goodside --help`"))};
}

Error no_such_option(const Command& command, const std::string& word) {
  std::vector<std::string> names{"--help"};
  for (const Option& option : command.options)
    if (is_option(option.name)) names.push_back(option.name);
  const std::string name = word.substr(0, word.find('='));
  if (!is_option(name))
    return {Fault::bad_input,
            fmt::format("`{}` was not expected here; {}", word, see_help(command))};
  return {Fault::bad_input,
          fmt::format("there is no option `{}`; {}",
                      name,
                      suggestion(name, names).value_or(see_help(command)))};
}

Error missing(const Command& command, const Option& option) {
  const std::string what =
      is_option(option.name) ? fmt::format("{} {}", option.name, option.value) : option.value;
  return {Fault::bad_input, fmt::format("{} is missing; {}", what, see_help(command))};
}

Result<Args> parse(const Command& command, std::vector<std::string> words) {
  CLI::App app;
  app.set_help_flag();
  app.allow_extras();
  Args::ByName given;
  std::map<std::string, bool> flags;
  for (const Option& option : command.options) {
    Args::Given& slot = given[option.name];
    slot.fallback = option.fallback;
    if (option.value.empty()) {
      app.add_flag(option.name, flags[option.name]);
      continue;
    }
    CLI::Option* declared = app.add_option(option.name, slot.words);
    if (is_option(option.name) || !option.many) declared->allow_extra_args(option.several);
    if (!option.many && !option.several) declared->expected(1);
  }
  try {
    std::reverse(words.begin(), words.end());  // CLI11 takes them from the back
    app.parse(std::move(words));
  } catch (const CLI::ArgumentMismatch& error) {
    const std::string_view said{error.what()};
    const auto name = said.substr(0, said.find(':'));
    return Error{Fault::bad_input,
                 fmt::format("{} takes one value, given once; {}", name, see_help(command))};
  } catch (const CLI::ParseError& error) {
    return Error{Fault::bad_input, fmt::format("{}; {}", error.what(), see_help(command))};
  }
  if (!app.remaining().empty()) return no_such_option(command, app.remaining().front());
  for (const auto& [name, on] : flags)
    if (on) given[name].words = {"yes"};
  for (const Option& option : command.options)
    if (option.required && given[option.name].words.empty()) return missing(command, option);
  return Args{std::move(given)};
}

int run_command(const Command& command, std::vector<std::string> words, Console& console) {
  console.speak_as(command.name);
  const auto args = parse(command, std::move(words));
  if (!args) return console.refuse(args.error());
  return command.run(*args, console);
}

bool asks_for_help(const std::vector<std::string>& words) {
  return std::any_of(words.begin(), words.end(), [](const std::string& word) {
    return word == "--help" || word == "-h";
  });
}

std::vector<Command> family_of(const std::vector<Command>& commands, const std::string& word) {
  std::vector<Command> family;
  std::copy_if(
      commands.begin(), commands.end(), std::back_inserter(family), [&](const Command& one) {
        return one.name.starts_with(word + " ");
      });
  return family;
}

int dispatch(const std::vector<Command>& commands,
             const std::vector<std::string>& words,
             Console& console) {
  if (words.empty()) {
    overview(commands, console.err());
    return static_cast<int>(Exit::unusable);
  }
  if (words[0] == "--help" || words[0] == "-h" || words[0] == "help") {
    overview(commands, console.out());
    return static_cast<int>(Exit::within_limits);
  }
  if (words[0] == "--version") {
    console.out() << "goodside " << GOODSIDE_VERSION << '\n';
    return static_cast<int>(Exit::within_limits);
  }
  // `works add` is one command with a name of two words; `works` alone lists its family.
  const auto family = family_of(commands, words[0]);
  const std::size_t length = family.empty() ? 1 : 2;
  if (words.size() < length || (length == 2 && (words[1] == "--help" || words[1] == "-h"))) {
    overview_of(words[0], family, words.size() < length ? console.err() : console.out());
    return static_cast<int>(words.size() < length ? Exit::unusable : Exit::within_limits);
  }
  const std::string name = length == 1 ? words[0] : words[0] + " " + words[1];
  for (const Command& command : commands) {
    if (command.name != name) continue;
    if (!asks_for_help(words))
      return run_command(
          command, {words.begin() + static_cast<std::ptrdiff_t>(length), words.end()}, console);
    explain(command, console.out());
    return static_cast<int>(Exit::within_limits);
  }
  return console.refuse(no_such_command(family.empty() ? commands : family, name));
}

}  // namespace

int run_line(const std::vector<Command>& commands,
             const std::vector<std::string>& words,
             Console& console) {
  try {
    return dispatch(commands, words, console);
  } catch (const std::bad_alloc&) {
    console.refuse({Fault::not_converged, "out of memory; try fewer --jobs"});
  } catch (const std::exception& error) {
    console.refuse(
        {Fault::not_converged,
         fmt::format("this is our own fault ({}); please report the command", error.what())});
  }
  return static_cast<int>(Exit::our_fault);
}

}  // namespace goodside::cli
