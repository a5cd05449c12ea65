#include "json/cursor.hpp"

#include <fmt/format.h>

#include <limits>

namespace goodside::json {
namespace {

constexpr int deepest = 32;

/// Deepest nesting of brackets outside strings. Counted before parsing, so that no text can make
/// the parser build what we would only throw away.
int depth_of(std::string_view text) {
  int depth = 0, most = 0;
  bool in_string = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (in_string) {
      if (c == '\\') ++i;
      if (c == '"') in_string = false;
    } else if (c == '"') {
      in_string = true;
    } else if (c == '[' || c == '{') {
      most = std::max(most, ++depth);
    } else if (c == ']' || c == '}') {
      --depth;
    }
  }
  return most;
}

const nlohmann::json& nothing() {
  static const nlohmann::json null;
  return null;
}

}  // namespace

Result<nlohmann::json> parse_guarded(std::string_view text,
                                     std::size_t largest_bytes,
                                     const std::string& document) {
  const auto bad = [&](const std::string& what) {
    return Error{Fault::bad_input, document + ": " + what};
  };
  if (text.size() > largest_bytes)
    return bad(
        fmt::format("larger than {} bytes; this is not the file that was meant", largest_bytes));
  if (depth_of(text) > deepest)
    return bad(
        fmt::format("nested deeper than {} levels; this is not the file that was meant", deepest));
  try {
    return nlohmann::json::parse(text);
  } catch (const nlohmann::json::parse_error& error) {
    return bad(fmt::format("no JSON from byte {} on; write the file again", error.byte));
  } catch (const nlohmann::json::exception&) {
    return bad("holds a number that no computer number can hold; write the file again");
  }
}

Cursor Cursor::operator[](std::string_view key) const {
  object();
  const auto place = node_->find(key);
  const std::string path = path_.empty() ? std::string{key} : fmt::format("{}.{}", path_, key);
  return {place == node_->end() ? nothing() : *place, path, *undetermined_};
}

Cursor Cursor::at(std::size_t index) const {
  list();
  return {(*node_)[index], fmt::format("{}[{}]", path_, index), *undetermined_};
}

const Cursor& Cursor::object() const {
  if (!node_->is_object()) refuse_type("an object");
  return *this;
}

const Cursor& Cursor::list() const {
  if (!node_->is_array()) refuse_type("a list");
  return *this;
}

double Cursor::number() const {
  if (is_null() && undetermined_->contains(path_)) return std::numeric_limits<double>::quiet_NaN();
  if (!node_->is_number()) refuse_type("a number");
  return node_->get<double>();
}

std::optional<double> Cursor::number_or_null() const {
  if (is_null()) return {};
  return number();
}

std::int64_t Cursor::whole_number(std::int64_t low, std::int64_t high) const {
  if (!node_->is_number_integer()) refuse_type("a whole number");
  const bool too_large =
      node_->is_number_unsigned() && node_->get<std::uint64_t>() > static_cast<std::uint64_t>(high);
  const auto value = too_large ? high : node_->get<std::int64_t>();
  if (too_large || value < low || value > high)
    refuse(fmt::format("{} lies outside {} to {}", node_->dump(), low, high));
  return value;
}

int Cursor::whole_number() const {
  using Range = std::numeric_limits<int>;
  return static_cast<int>(whole_number(Range::min(), Range::max()));
}

bool Cursor::truth() const {
  if (!node_->is_boolean()) refuse_type("true or false");
  return node_->get<bool>();
}

std::string Cursor::text() const {
  if (!node_->is_string()) refuse_type("a text");
  return node_->get<std::string>();
}

std::string Cursor::text_or_nothing() const {
  return is_null() ? std::string{} : text();
}

void Cursor::refuse(const std::string& what) const {
  const std::string shown = path_.empty() ? "$" : "$." + path_;
  throw Refusal{{Fault::bad_input, fmt::format("{}: {}", shown, what)}};
}

void Cursor::refuse_type(std::string_view expected) const {
  const std::string_view there = node_->is_null() ? "nothing" : node_->type_name();
  refuse(fmt::format("{} stands where {} should", there, expected));
}

}  // namespace goodside::json
