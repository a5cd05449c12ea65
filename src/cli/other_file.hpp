#pragma once
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::cli {

/// What is written must not be what was read: refuses an output that is the input, by whatever name. An
/// empty path, or "-", is no file. Errors: Fault::bad_input, naming the option.
Outcome is_other_file(std::string_view option, const std::string& output, const std::string& input);

}  // namespace goodside::cli
