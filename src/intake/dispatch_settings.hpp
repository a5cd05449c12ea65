#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::intake {

/// How a works packs and ships, from [dispatch] of its goodside.toml. What is not told is absent.
struct DispatchSettings {
  std::optional<std::string> gs1_prefix;   ///< company prefix got from GS1
  std::optional<double> lifting_limit_kg;  ///< gross, of a carton that one person lifts
  std::optional<std::string> pallet;       ///< its name, such as 1200x800
  std::optional<std::string> address;      ///< of the sender, as on papers
};

/// Errors: Fault::bad_input naming file, line and key: a key that is none (the nearest is offered), a
/// value of the wrong type, a mass that is none.
Result<DispatchSettings> dispatch_settings_from_toml(std::string_view text,
                                                     const std::string& shown_name);
Result<DispatchSettings> read_dispatch_settings(const std::string& path);

/// The whole table to begin from.
[[nodiscard]] std::string default_dispatch_toml();

}  // namespace goodside::intake
