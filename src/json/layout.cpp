#include "json/layout.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace goodside::json {
namespace {

using Json = nlohmann::ordered_json;

std::string plain(const Json& value) {
  return value.dump(-1, ' ', false, Json::error_handler_t::replace);
}

bool is_list_of_plain_values(const Json& value) {
  return value.is_array() &&
         std::none_of(value.begin(), value.end(), [](const Json& v) { return v.is_structured(); });
}

/// An object whose values are plain fits one line, its lists too when they are short.
bool fits_one_line(const Json& value) {
  if (!value.is_structured() || value.empty() || is_list_of_plain_values(value)) return true;
  constexpr std::size_t short_list = 8;
  return value.is_object() && std::all_of(value.begin(), value.end(), [](const Json& v) {
           return !v.is_structured() || (is_list_of_plain_values(v) && v.size() <= short_list);
         });
}

void write_line(const Json& value, std::string& out) {
  if (!value.is_structured()) {
    out += plain(value);
    return;
  }
  const bool is_object = value.is_object();
  out += is_object ? '{' : '[';
  bool first = true;
  for (const auto& [key, member] : value.items()) {
    if (!first) out += ", ";
    first = false;
    if (is_object) out += plain(key) + ": ";
    write_line(member, out);
  }
  out += is_object ? '}' : ']';
}

void write_lines(const Json& value, std::size_t depth, std::string& out) {
  if (fits_one_line(value)) {
    write_line(value, out);
    return;
  }
  const bool is_object = value.is_object();
  out += is_object ? '{' : '[';
  bool first = true;
  for (const auto& [key, member] : value.items()) {
    out += first ? "\n" : ",\n";
    first = false;
    out.append(2 * (depth + 1), ' ');
    if (is_object) out += plain(key) + ": ";
    write_lines(member, depth + 1, out);
  }
  out += '\n';
  out.append(2 * depth, ' ');
  out += is_object ? '}' : ']';
}

}  // namespace

std::string lay_out(const nlohmann::ordered_json& value) {
  std::string out;
  write_lines(value, 0, out);
  return out + '\n';
}

}  // namespace goodside::json
