#include "cli/other_file.hpp"

#include <fmt/format.h>

#include <filesystem>
#include <system_error>

namespace goodside::cli {

Outcome is_other_file(std::string_view option,
                      const std::string& output,
                      const std::string& input) {
  std::error_code none;
  if (output.empty() || output == "-" || input.empty()) return Done{};
  if (output != input && !std::filesystem::equivalent(output, input, none)) return Done{};
  return Error{Fault::bad_input,
               fmt::format("{}: {} is read here; write to another file", option, output)};
}

}  // namespace goodside::cli
