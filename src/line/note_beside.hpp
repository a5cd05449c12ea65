#pragma once
#include <optional>
#include <string>

#include "base/result.hpp"
#include "works/reference_note.hpp"

namespace goodside::line {

/// Where the note of a reference recording lies: beside it, its name with ".json" after it.
[[nodiscard]] std::string note_path(const std::string& reference);

/// The note beside a reference, where there is one; any other JSON of that name is let be. Errors: Fault::bad_input
/// for a note that is broken.
Result<std::optional<works::ReferenceNote>> note_beside(const std::string& reference);

}  // namespace goodside::line
