#pragma once
#include <cstdint>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>
#include <string>
#include <string_view>

#include "base/result.hpp"

namespace goodside::json {

/// Thrown by Cursor at the first wrong field; the reader that began catches it and returns the
/// Error.
struct Refusal {
  Error error;
};

/// Text as JSON, guarded: at most `largest_bytes`, at most 32 levels deep, one line of complaint.
/// `document` is what the complaint calls the text. Errors: Fault::bad_input.
Result<nlohmann::json> parse_guarded(std::string_view text,
                                     std::size_t largest_bytes,
                                     const std::string& document);

/// A place in a JSON document that knows its path, so that each complaint can name it.
class Cursor {
 public:
  /// `undetermined` holds the paths, written "wow.eccentricity_m", whose numbers may be null.
  Cursor(const nlohmann::json& node, std::string path, const std::set<std::string>& undetermined)
      : node_{&node}, path_{std::move(path)}, undetermined_{&undetermined} {}

  [[nodiscard]] bool is_null() const { return node_->is_null(); }
  [[nodiscard]] std::size_t size() const { return node_->size(); }

  /// A member of an object; one that is absent reads as null.
  [[nodiscard]] Cursor operator[](std::string_view key) const;
  /// An element of a list.
  [[nodiscard]] Cursor at(std::size_t index) const;

  const Cursor& object() const;  ///< refuses what is none
  const Cursor& list() const;    ///< refuses what is none

  [[nodiscard]] double number() const;  ///< NaN where null and named in `undetermined`
  [[nodiscard]] std::optional<double> number_or_null() const;
  [[nodiscard]] std::int64_t whole_number(std::int64_t low, std::int64_t high) const;
  [[nodiscard]] int whole_number() const;
  [[nodiscard]] bool truth() const;
  [[nodiscard]] std::string text() const;
  [[nodiscard]] std::string text_or_nothing() const;  ///< empty where null

  template <class Table>
  [[nodiscard]] auto word(const Table& words) const {
    const std::string given = text();
    std::string known;
    for (const auto& [meaning, word] : words) {
      if (word == given) return meaning;
      if (!known.empty()) known += ", ";
      known += word;
    }
    std::string what{"'"};
    what.append(given, 0, longest_quoted).append("' is none of ").append(known);
    refuse(what);
  }

  [[noreturn]] void refuse(const std::string& what) const;

 private:
  static constexpr std::size_t longest_quoted = 40;
  [[noreturn]] void refuse_type(std::string_view expected) const;

  const nlohmann::json* node_;
  std::string path_;
  const std::set<std::string>* undetermined_;
};

}  // namespace goodside::json
