#include "line/match_captures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <optional>

#include "intake/csv_file.hpp"
#include "intake/digest.hpp"
#include "intake/safe_file.hpp"
#include "works/code.hpp"

namespace goodside::line {
namespace {

namespace fs = std::filesystem;
using ledger::at;
using ledger::Refused;
using ledger::Row;
using ledger::text;

std::string capitals(std::string text) {
  for (char& letter : text)
    if (letter >= 'a' && letter <= 'z') letter = static_cast<char>(letter - 'a' + 'A');
  return text;
}

bool is_audio(const fs::path& path) {
  const std::string end = capitals(path.extension().string());
  for (const char* known :
       {".WAV", ".WAVE", ".RF64", ".W64", ".FLAC", ".AIF", ".AIFF", ".CAF", ".OGG"})
    if (end == known) return true;
  return false;
}

struct Name {
  std::string stem, letter;  ///< the name without its side, and the side
};

/// `S-000001-3_A` or `S-000001-3 A`: the letter stands alone at the end.
std::optional<Name> split(const std::string& stem) {
  if (stem.size() < 3) return std::nullopt;
  const char letter = stem.back(), before = stem[stem.size() - 2];
  if (letter < 'A' || letter > 'Z' ||
      std::string_view{"-_ ."}.find(before) == std::string_view::npos)
    return std::nullopt;
  return Name{stem.substr(0, stem.size() - 2), std::string(1, letter)};
}

Result<std::map<std::string, Name>> read_table(const std::string& path) {
  const auto bytes = intake::read_whole(path, std::size_t{64} << 20);
  if (!bytes) return bytes.error();
  const auto table = intake::parse_csv(*bytes, path);
  if (!table) return table.error();
  const auto column = [&](const char* name) {
    return std::find(table->columns.begin(), table->columns.end(), name) - table->columns.begin();
  };
  const auto file = column("file"), ticket = column("ticket"), side = column("side");
  const auto width = static_cast<std::ptrdiff_t>(table->columns.size());
  if (file == width || ticket == width || side == width)
    return Error{Fault::bad_input, path + ":1: the columns file, ticket and side are needed"};
  std::map<std::string, Name> rows;
  for (const auto& line : table->lines) {
    const auto cell = [&](std::ptrdiff_t at) { return line.cells[static_cast<std::size_t>(at)]; };
    if (!rows.try_emplace(cell(file), Name{cell(ticket), capitals(cell(side))}).second)
      return Error{Fault::bad_input,
                   fmt::format("{}:{}: {} is named twice", path, line.number, cell(file))};
  }
  return rows;
}

/// By its code, or by the name that the ticket was given.
std::optional<Row> find_ticket(ledger::Reader& reader, const std::string& called) {
  if (const auto code = works::read_code(called))
    if (auto row = reader.find("ticket", *code)) return row;
  auto named = reader.where("ticket", "name", called);
  if (named.size() == 1) return std::move(named[0]);
  return std::nullopt;
}

class Matcher {
 public:
  Matcher(ledger::Writer& writer, const CaptureFolder& captures, Matched& matched)
      : writer_{writer}, captures_{captures}, matched_{matched} {}

  void take(const std::string& file, const std::optional<Name>& name) {
    const auto miss = [&](std::string why) { matched_.misses.push_back({file, std::move(why)}); };
    if (!name) return miss("its name does not end in a side's letter, such as S-000001-3_A");
    const auto ticket = find_ticket(writer_, name->stem);
    if (!ticket) return miss(fmt::format("no ticket is called {}", name->stem));
    const std::string path = (fs::path{captures_.folder} / file).string();
    const auto digest = intake::sha256_of_file(path);
    if (!digest) return miss(digest.error().text);
    const std::string code = text(at(*ticket, "code"));
    std::int64_t play = 1;
    for (const Row& row : writer_.where("capture", "ticket", code)) {
      if (text(at(row, "letter")) != name->letter) continue;
      if (text(at(row, "sha256")) == *digest) {
        matched_.hits.push_back({file, code, name->letter, text(at(row, "code")), true});
        return;
      }
      ++play;
    }
    Matched::Hit hit{file, code, name->letter};
    if (captures_.enter)
      hit.capture = writer_.add(works::kind_of_table("capture"),
                                {{"ticket", code},
                                 {"letter", name->letter},
                                 {"path", path},
                                 {"sha256", *digest},
                                 {"play", play},
                                 {"after", "as found"}});
    matched_.hits.push_back(std::move(hit));
  }

 private:
  ledger::Writer& writer_;
  const CaptureFolder& captures_;
  Matched& matched_;
};

}  // namespace

Result<Matched> match_captures(const Desk& desk, const CaptureFolder& captures) {
  std::error_code problem;
  std::vector<std::string> files;
  for (fs::directory_iterator entry{captures.folder, problem}, end; !problem && entry != end;
       entry.increment(problem))
    if (entry->is_regular_file() && is_audio(entry->path()))
      files.push_back(entry->path().filename().string());
  if (problem)
    return Error{Fault::not_found,
                 fmt::format("{}: cannot be read ({})", captures.folder, problem.message())};
  std::sort(files.begin(), files.end());
  std::optional<std::map<std::string, Name>> table;
  if (!captures.table.empty()) {
    auto read = read_table(captures.table);
    if (!read) return read.error();
    table = std::move(*read);
  }
  Matched matched;
  const auto head = desk.record.write(desk.act("captures"), [&](ledger::Writer& writer) {
    matched = {};
    Matcher matcher{writer, captures, matched};
    for (const std::string& file : files) {
      if (!table) {
        matcher.take(file, split(capitals(fs::path{file}.stem().string())));
        continue;
      }
      const auto row = table->find(file);
      if (row == table->end())
        matched.misses.push_back({file, "the table does not name it"});
      else
        matcher.take(file, row->second);
    }
    if (table)
      for (const auto& [file, name] : *table)
        if (!std::binary_search(files.begin(), files.end(), file))
          matched.misses.push_back({file, "the table names it, and the folder does not hold it"});
  });
  if (!head) return head.error();
  matched.head = *head;
  return matched;
}

}  // namespace goodside::line
