#include "cli/help.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <ostream>
#include <set>
#include <sstream>
#include <string_view>
#include <utility>

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

/// A name and what it stands for, in two columns.
void list(const std::string& name, const std::string& help, std::ostream& out) {
  constexpr std::size_t name_column = 22;
  const auto lines = wrapped(help, line_width - name_column);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::string left = i == 0 ? "  " + name : "";
    out << left << std::string(name_column - std::min(name_column, columns(left)), ' ') << lines[i]
        << '\n';
  }
}

}  // namespace

/// What the verbs of one family are for.
std::string_view help_of(std::string_view family) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 4> families{
      {{"works", "The works' record of metal, runs, discs and cartons"},
       {"pack", "The works' packing, shipping and papers"},
       {"accept", "How many discs to hear, and is it enough"},
       {"plan", "What orders take, who does what when, and the date to promise"}}};
  const auto found = std::ranges::find(families, family, [](const auto& one) { return one.first; });
  return found == families.end() ? family : found->second;
}

void overview(const std::vector<Command>& commands, std::ostream& out) {
  out << "goodside: what is wrong with a pressed side, where, and what to do next\n\n";
  std::set<std::string> families;
  for (const Command& command : commands) {
    const auto space = command.name.find(' ');
    if (space == std::string::npos) {
      list("goodside " + command.name, command.help, out);
      continue;
    }
    const std::string family = command.name.substr(0, space);
    if (!families.insert(family).second) continue;
    list(fmt::format("goodside {} …", family),
         fmt::format("{}; `goodside {} --help` lists its verbs.", help_of(family), family),
         out);
  }
  out << "\n`goodside COMMAND --help` shows its options and a worked example; `goodside\n"
         "--version` the version. Exit status: 0 within limits, 1 outside limits, 2 the\n"
         "request or its input cannot be used, 3 our own fault.\n";
}

void overview_of(const std::string& family,
                 const std::vector<Command>& commands,
                 std::ostream& out) {
  out << fmt::format("goodside {}: the verbs\n\n", family);
  for (const Command& command : commands)
    list(command.name.substr(family.size() + 1), command.help, out);
  out << fmt::format("\n`goodside {} VERB --help` shows its options and a worked example.\n",
                     family);
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
