#pragma once
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "base/result.hpp"

namespace goodside::cli {

/// The words given to a subcommand, by option name. Asking for an option that was not declared is a
/// bug.
class Args {
 public:
  struct Given {
    std::vector<std::string> words;  ///< as typed; empty when not given
    std::string fallback;
  };
  using ByName = std::map<std::string, Given, std::less<>>;

  explicit Args(ByName given) : given_{std::move(given)} {}

  /// True when the user typed it (a flag, or an option with its value).
  [[nodiscard]] bool given(std::string_view name) const;
  /// The value typed, or else the default; empty when there is neither.
  [[nodiscard]] const std::string& text(std::string_view name) const;
  /// Every value typed, in order, for options that may be given again.
  [[nodiscard]] const std::vector<std::string>& all(std::string_view name) const;

  /// The value through a parser `Result<T>(std::string_view)`: args.read("--arm-length",
  /// units::length_m). The error names the option. Only for options that were given or have a
  /// default.
  template <class Parser>
  [[nodiscard]] auto read(std::string_view name, Parser parse) const
      -> std::invoke_result_t<Parser, const std::string&> {
    auto value = parse(text(name));
    if (value) return value;
    return named(name, value.error());
  }

  /// The same, or an empty optional when the option was neither typed nor has a default.
  template <class Parser>
  [[nodiscard]] auto maybe(std::string_view name, Parser parse) const -> Result<
      std::optional<typename std::invoke_result_t<Parser, const std::string&>::value_type>> {
    using Value = typename std::invoke_result_t<Parser, const std::string&>::value_type;
    if (text(name).empty() && !given(name)) return std::optional<Value>{};
    auto value = read(name, parse);
    if (!value) return value.error();
    return std::optional<Value>{std::move(*value)};
  }

 private:
  [[nodiscard]] const Given& find(std::string_view name) const;
  static Error named(std::string_view name, const Error& error);

  ByName given_;
};

}  // namespace goodside::cli
