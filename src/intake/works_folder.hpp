#pragma once
#include <optional>
#include <string>

#include "base/result.hpp"

namespace goodside::intake {

/// The file whose presence makes a folder a works folder.
inline constexpr const char* works_file_name = "goodside.toml";

/// Where a works folder may be named. The caller reads the environment; this module does not.
struct WorksFolderSearch {
  std::optional<std::string> asked_for;  ///< `--in DIR`: comes first
  std::optional<std::string>
      environment;               ///< GOODSIDE_DIR: comes second; an empty one counts as unset
  std::string from_folder{"."};  ///< third: this folder and those above it
};

/// The works folder, or nothing when none was named and none lies above `from_folder`.
/// Errors: Fault::not_found when a named folder does not exist or holds no goodside.toml.
Result<std::optional<std::string>> find_works_folder(const WorksFolderSearch&);

}  // namespace goodside::intake
