#include "line/works_place.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "intake/dispatch_settings.hpp"
#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"
#include "intake/trace_costs.hpp"
#include "intake/works_folder.hpp"
#include "line/read_fields.hpp"
#include "works/code.hpp"

namespace goodside::line {
namespace {

namespace fs = std::filesystem;

/// Text between quotes of TOML's basic strings.
std::string toml_text(std::string_view text) {
  std::string out{"\""};
  for (const char letter : text) {
    if (letter == '"' || letter == '\\') out += '\\';
    out += letter == '\n' || letter == '\t' ? ' ' : letter;
  }
  return out + "\"";
}

/// Every line a remark, so that the works takes out of it what is its own.
std::string remarked(std::string_view text) {
  std::string out;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size() - 1);
    if (text[begin] != '#') out += "# ";
    out += text.substr(begin, end - begin + 1);
    begin = end + 1;
  }
  return out;
}

std::string first_text(const NewWorks& works) {
  return fmt::format(
      "# This works, for every goodside command below this folder.\n"
      "name = {}\n"
      "zone = {}            # in which dates and times are shown\n"
      "\n"
      "[record]\n"
      "store = {}           # a file in this folder, or postgresql://user@host/database\n"
      "\n"
      "{}\n{}",
      toml_text(works.name),
      toml_text(works.zone),
      toml_text(works.store),
      remarked(intake::default_costs_toml()),
      remarked(intake::default_dispatch_toml()));
}

Result<std::vector<std::pair<std::string, std::string>>> read_patterns(const NewWorks& works) {
  std::vector<std::pair<std::string, std::string>> patterns;
  std::set<std::string> beginnings;
  std::set<std::string> own;
  for (const std::string& typed : works.patterns) {
    const auto equals = typed.find('=');
    const auto kind = works::find_kind(typed.substr(0, equals));
    if (!kind) return kind.error();
    const auto pattern = works::CodePattern::parse(
        equals == std::string::npos ? "" : std::string_view{typed}.substr(equals + 1));
    if (!pattern) return pattern.error();
    patterns.emplace_back(std::string{(*kind)->table}, pattern->text());
    own.insert(std::string{(*kind)->table});
  }
  const auto clash = [&](std::string_view pattern) {
    return !beginnings.insert(std::string{pattern.substr(0, pattern.find('#'))}).second;
  };
  for (const auto& [table, pattern] : patterns)
    if (clash(pattern))
      return Error{
          Fault::bad_input,
          fmt::format("two patterns begin like {}; each noun needs its own beginning", pattern)};
  for (const works::Kind& kind : works::kinds())
    if (!own.contains(std::string{kind.table}) && clash(kind.pattern))
      return Error{Fault::bad_input,
                   fmt::format("a pattern begins like {}, which {}s have; choose another beginning",
                               kind.pattern,
                               kind.name)};
  return patterns;
}

}  // namespace

Result<WorksPlace> read_works_place(const std::string& folder) {
  const std::string path = (fs::path{folder} / intake::works_file_name).string();
  const auto text = intake::read_whole(path);
  if (!text) return text.error();
  const auto table = intake::TomlTable::parse(*text, path);
  if (!table) return table.error();
  WorksPlace place{folder, "", "UTC", ""};
  const auto name = table->words("name"), zone = table->words("zone");
  if (!name) return name.error();
  if (!zone) return zone.error();
  place.name = name->value_or("");
  place.zone = zone->value_or("UTC");
  std::string store = "record.db";
  const auto record = table->table("record");
  if (!record) return record.error();
  if (*record) {
    const auto named = (*record)->words("store");
    if (!named) return named.error();
    store = named->value_or(store);
  }
  place.store = ledger::names_postgresql(store) ? store : (fs::path{folder} / store).string();
  return place;
}

Result<works::TraceCosts> works_costs(const std::string& folder) {
  return intake::read_costs((fs::path{folder} / intake::works_file_name).string());
}

Result<ledger::Head> make_works(const NewWorks& works,
                                const std::string& who,
                                std::int64_t now_ms) {
  for (const std::string& words : {works.name, works.zone, works.store})
    if (const auto fit = fit_text(words); !fit) return fit.error();
  const auto patterns = read_patterns(works);
  if (!patterns) return patterns.error();
  const fs::path folder{works.folder};
  std::error_code problem;
  if (fs::exists(folder / intake::works_file_name, problem))
    return Error{Fault::conflict,
                 fmt::format("{} is a works folder already; nothing was touched", works.folder)};
  for (const char* inner : {"captures", "reports", "papers"}) {
    fs::create_directories(folder / inner, problem);
    if (problem)
      return Error{
          Fault::io,
          fmt::format("{} cannot be made ({})", (folder / inner).string(), problem.message())};
  }
  const std::string store =
      ledger::names_postgresql(works.store) ? works.store : (folder / works.store).string();
  auto record = ledger::Record::open(store, true);
  if (!record) return record.error();
  const Desk desk{*record, who, now_ms};
  const auto head = record->write(desk.act("init", "works"), [&](ledger::Writer& writer) {
    if (writer.seq() != 1)
      throw ledger::Refused{
          {Fault::conflict, "that record holds entries already; name an empty one"}};
    writer.set("works", works.name);
    writer.set("zone", works.zone);
    for (const auto& [table, pattern] : *patterns) writer.set("codes." + table, pattern);
  });
  if (!head) return head.error();
  if (const auto written =
          intake::write_whole((folder / intake::works_file_name).string(), first_text(works));
      !written)
    return written.error();
  return *head;
}

}  // namespace goodside::line
