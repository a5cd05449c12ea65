#include "json/reference_note.hpp"

#include <nlohmann/json.hpp>
#include <set>

#include "json/cursor.hpp"
#include "json/layout.hpp"
#include "json/reference_fields.hpp"
#include "json/report_words.hpp"

namespace goodside::json {
namespace {

constexpr std::string_view schema = "goodside.reference/1";

works::ReferenceNote whole_note(const Cursor& json) {
  if (json.object()["schema"].text() != schema)
    json["schema"].refuse(
        "this is no note of a reference that this program reads (goodside.reference/1)");
  works::ReferenceNote note;
  note.reference.kind = json["kind"].word(reference_kinds);
  note.reference.file = read_audio_file(json["file"]);
  const auto programme = json["programme"];
  if (programme.list().size() != 2) programme.refuse("two times should stand here, from and to");
  note.programme = {programme.at(0).number(), programme.at(1).number()};
  read_reference_fields(json, note.reference);
  return note;
}

}  // namespace

std::string write(const works::ReferenceNote& note) {
  nlohmann::ordered_json json;
  json["schema"] = std::string{schema};
  for (const auto& [kind, word] : reference_kinds)
    if (kind == note.reference.kind) json["kind"] = std::string{word};
  json["file"] = audio_file_fields(note.reference.file);
  json["programme"] = interval_fields({note.programme}).front();
  add_reference_fields(note.reference, json);
  return lay_out(json);
}

Result<works::ReferenceNote> read_reference_note(std::string_view text) {
  const auto document = parse_guarded(text, largest_note_bytes, "the note of the reference");
  if (!document) return document.error();
  try {
    const std::set<std::string> none;
    return whole_note(Cursor{*document, "", none});
  } catch (const Refusal& refusal) {
    return refusal.error;
  }
}

}  // namespace goodside::json
