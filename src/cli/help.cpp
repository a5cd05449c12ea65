#include "cli/help.hpp"

#include <fmt/format.h>

#include <ostream>
#include <sstream>

#include "cli/wrap.hpp"

namespace goodside::cli {
namespace {

constexpr std::size_t help_column = 28;

std::string as_typed(const Option& option) {
  if (option.name.front() != '-') return option.value + (option.many ? "..." : "");
  return option.value.empty() ? option.name : option.name + " " + option.value;
}

std::string usage(const Command& command) {
  std::string text = "goodside " + command.name;
  for (const Option& option : command.options)
    if (option.required || option.name.front() != '-') text.append(" ").append(as_typed(option));
  return text + " [options]";
}

void explain_option(const Option& option, std::ostream& out) {
  const std::string left = "  " + as_typed(option), indent(help_column, ' ');
  std::string help = option.help;
  if (option.required) help += " Needed.";
  if (!option.fallback.empty()) help += fmt::format(" Default: {}.", option.fallback);
  if (option.many && option.name.front() == '-') help += " May be given again.";
  const auto lines = wrapped(help, line_width - help_column);
  if (left.size() + 1 > help_column)
    out << left << '\n' << indent << lines.front() << '\n';
  else
    out << fmt::format("{:<{}}{}\n", left, help_column, lines.front());
  for (std::size_t i = 1; i < lines.size(); ++i) out << indent << lines[i] << '\n';
}

}  // namespace

void overview(const std::vector<Command>& commands, std::ostream& out) {
  out << "goodside: what is wrong with a pressed side, where, and what to do next\n\n";
  constexpr std::size_t name_column = 20;
  for (const Command& command : commands) {
    const auto lines = wrapped(command.help, line_width - name_column);
    for (std::size_t i = 0; i < lines.size(); ++i)
      out << fmt::format(
          "{:<{}}{}\n", i == 0 ? "  goodside " + command.name : "", name_column, lines[i]);
  }
  out << "\n`goodside COMMAND --help` shows its options and a worked example; `goodside\n"
         "--version` the version. Exit status: 0 within limits, 1 outside limits, 2 the\n"
         "request or its input cannot be used, 3 our own fault.\n";
}

void explain(const Command& command, std::ostream& out) {
  out << command.help << "\n\n";
  for (const std::string& line : wrapped(usage(command), line_width - 2))
    out << "  " << line << '\n';
  out << '\n';
  for (const Option& option : command.options) explain_option(option, out);
  out << fmt::format("{:<{}}This text.\n\nExample\n", "  --help", help_column);
  std::istringstream example{command.example};
  for (std::string line; std::getline(example, line);)
    out << (line.empty() ? "" : "  ") << line << '\n';
}

}  // namespace goodside::cli
