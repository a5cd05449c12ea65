#include "intake/heard_lots.hpp"

#include <array>

#include "intake/named_columns.hpp"
#include "intake/safe_file.hpp"

namespace goodside::intake {

Result<std::vector<HeardLotRow>> heard_lots_from_csv(std::string_view text,
                                                     const std::string& shown_name) {
  constexpr std::array<std::string_view, 4> columns{"lot", "discs", "flawed", "heard"};
  constexpr std::int64_t most = 200'000;
  const auto table = parse_csv(text, shown_name);
  if (!table) return table.error();
  const NamedColumns cells{*table, shown_name};
  if (const auto found = cells.expect(columns, 3); !found) return found.error();
  std::vector<HeardLotRow> lots;
  for (const auto& line : table->lines) {
    HeardLotRow lot{.name = cells.cell(line, "lot")};
    if (lot.name.empty()) return cells.refuse(line, "lot", "is empty; name the lot");
    const auto discs = cells.whole(line, "discs", 2, most);
    if (!discs) return discs.error();
    const auto flawed = cells.whole(line, "flawed", 0, most);
    if (!flawed) return flawed.error();
    const auto heard = cells.whole(line, "heard", 1, most);
    if (!heard) return heard.error();
    if (!*discs) return cells.refuse(line, "discs", "is empty; give the discs in the lot");
    if (!*flawed) return cells.refuse(line, "flawed", "is empty; give 0 where none was flawed");
    lot.discs = **discs;
    lot.flawed = **flawed;
    lot.heard = *heard;
    lots.push_back(std::move(lot));
  }
  if (lots.empty())
    return Error{Fault::bad_input, shown_name + ":2: no lot; write a line for each"};
  return lots;
}

Result<std::vector<HeardLotRow>> read_heard_lots(const std::string& path) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return heard_lots_from_csv(*text, path);
}

}  // namespace goodside::intake
