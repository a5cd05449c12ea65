#pragma once
#include <vector>

#include "base/result.hpp"
#include "cli/args.hpp"
#include "cli/command.hpp"
#include "line/play_side.hpp"

namespace goodside::cli {

/// The options of `goodside play`.
[[nodiscard]] std::vector<Option> play_options();

/// Reads them: the format's usual side, surface and stylus, with what was typed over them.
/// Errors: one line naming the option, with the mend.
Result<line::Playing> read_play_request(const Args&);

}  // namespace goodside::cli
