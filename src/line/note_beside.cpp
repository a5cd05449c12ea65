#include "line/note_beside.hpp"

#include "intake/safe_file.hpp"
#include "json/reference_note.hpp"

namespace goodside::line {

std::string note_path(const std::string& reference) {
  return reference + ".json";
}

Result<std::optional<works::ReferenceNote>> note_beside(const std::string& reference) {
  const std::string path = note_path(reference);
  const auto text = intake::read_whole(path, json::largest_note_bytes);
  if (!text) {
    if (text.error().fault == Fault::not_found) return std::optional<works::ReferenceNote>{};
    return text.error();
  }
  if (text->find("goodside.reference/") == std::string::npos)
    return std::optional<works::ReferenceNote>{};
  auto note = json::read_reference_note(*text);
  if (!note) return Error{note.error().fault, path + ": " + note.error().text};
  return std::optional{std::move(*note)};
}

}  // namespace goodside::line
