#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace goodside::intake {

struct HeardLotRow {
  std::string name;
  std::int64_t discs{}, flawed{};
  std::optional<std::int64_t> heard{};
};

/// A table of lots [RFC 4180] with the columns lot, discs, flawed and, if wanted, heard, a line a lot in
/// the order of production. Errors: Fault::bad_input with line and column; those of reading a file.
Result<std::vector<HeardLotRow>> read_heard_lots(const std::string& path);
Result<std::vector<HeardLotRow>> heard_lots_from_csv(std::string_view text,
                                                     const std::string& shown_name);

}  // namespace goodside::intake
