#pragma once
#include <span>
#include <string_view>
#include <vector>

namespace goodside::serve {

/// What may be given for one option of a command, from a page.
enum class GivenAs {
  text,     ///< a quantity, a number, a code or a word
  yes,      ///< a flag
  several,  ///< texts: the option again for each
  file      ///< one that was given to the server, or lies in the works' own folders for it
};

struct CalculationOption {
  std::string_view name;  ///< as the page calls it
  GivenAs as{GivenAs::text};
  std::string_view typed{
      "--"};  ///< of the command: "--" and the name, another, or none (its place tells)
};

/// A picture that the command draws, and the options of which one must be given for it; none: always.
struct CalculationPicture {
  std::string_view option, title;
  std::vector<std::string_view> only_with{};
};

/// How an answer is entered in the record: as the command does it with --log.
struct CalculationLog {
  std::string_view to{};  ///< option that names what it is entered to; empty: it cannot be entered
  std::string_view flag{"--log"};
  bool must{true};     ///< it must be named
  bool is_code{true};  ///< of a row of the record, not a name that is made up
};

/// One command as the page may run it. What is not named here cannot be given.
struct Calculation {
  std::string_view name;                  ///< in the path
  std::vector<std::string_view> command;  ///< words of the command
  std::vector<CalculationOption> options;
  std::vector<CalculationPicture> pictures;
  CalculationLog log{};
  bool in_works{true};                 ///< it takes --in
  std::string_view in_works_unless{};  ///< save where this option is given
};

[[nodiscard]] std::span<const Calculation> calculations();
/// Nothing where there is none of that name.
[[nodiscard]] const Calculation* find_calculation(std::string_view name);

}  // namespace goodside::serve
