#include "line/side_parts.hpp"

#include <set>

namespace goodside::line {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

double closings_of(Reader& reader, const std::string& part) {
  double closings = 0.0;
  for (const char* column : {"stamper_a", "stamper_b"})
    for (const Row& mounting : reader.standing("mounting", column, part))
      for (const Row& pressing :
           reader.standing("pressing", "mounting", text(at(mounting, "code"))))
        closings +=
            static_cast<double>(whole(at(pressing, "last")) - whole(at(pressing, "first")) + 1);
  return closings;
}

std::vector<Row> parts_of(Reader& reader, const std::string& side) {
  std::vector<Row> parts = reader.standing("part", "side", side);
  for (const Row& cut : reader.standing("cut", "side", side))
    for (Row& part : reader.standing("part", "cut", text(at(cut, "code"))))
      parts.push_back(std::move(part));
  std::set<std::string> met;
  std::vector<Row> all;
  while (!parts.empty()) {
    Row part = std::move(parts.back());
    parts.pop_back();
    const std::string code = text(at(part, "code"));
    if (!met.insert(code).second) continue;
    for (Row& child : reader.standing("part", "parent", code)) parts.push_back(std::move(child));
    all.push_back(std::move(part));
  }
  return all;
}

bool usable(const Row& part) {
  const std::string state = text(at(part, "state"));
  return state == "ready" || state == "resting" || state == "on press";
}

}  // namespace goodside::line
