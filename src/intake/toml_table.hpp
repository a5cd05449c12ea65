#pragma once
#include <cstdint>
#include <initializer_list>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.hpp"

namespace goodside::intake {

/// One table of a TOML text, read with errors of the form "file:line: what; the mend". An absent
/// key is an empty optional; a key of the wrong type, a NaN or an infinity is an Error.
class TomlTable {
 public:
  /// Errors: Fault::bad_input for broken TOML, more than 1 MiB, or nesting beyond 32 levels.
  static Result<TomlTable> parse(std::string_view text, const std::string& shown_name);

  [[nodiscard]] std::vector<std::string> keys() const;             ///< in alphabetical order
  [[nodiscard]] std::vector<std::string> keys_as_written() const;  ///< by line

  [[nodiscard]] Result<std::optional<TomlTable>> table(const std::string& key) const;
  [[nodiscard]] Result<std::optional<double>> number(const std::string& key) const;
  [[nodiscard]] Result<std::optional<std::int64_t>> whole_number(const std::string& key) const;
  [[nodiscard]] Result<std::optional<bool>> truth(const std::string& key) const;
  [[nodiscard]] Result<std::optional<std::string>> words(const std::string& key) const;
  /// A list of texts, or one text alone.
  [[nodiscard]] Result<std::optional<std::vector<std::string>>> texts(const std::string& key) const;
  [[nodiscard]] bool holds_words(const std::string& key) const;

  /// Refuses the first key that is not among the known ones, and names the nearest of them.
  [[nodiscard]] Outcome only(std::span<const std::string_view> known) const;
  [[nodiscard]] Outcome only(std::initializer_list<std::string_view> known) const {
    return only(std::span{known.begin(), known.size()});
  }
  /// An Error that names the file and the line of `key`, or of the table itself when it has no such
  /// key.
  [[nodiscard]] Error refuse(const std::string& key, const std::string& what) const;

 private:
  struct Node;
  explicit TomlTable(std::shared_ptr<const Node> node) : node_{std::move(node)} {}
  std::shared_ptr<const Node> node_;
};

}  // namespace goodside::intake
