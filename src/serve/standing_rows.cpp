#include "serve/standing_rows.hpp"

namespace goodside::serve {

using ledger::text;
using ledger::Value;
using ledger::Values;
using ledger::whole;

std::optional<double> real(const Value& value) {
  if (ledger::is_null(value)) return std::nullopt;
  return std::get<double>(value);
}

std::optional<std::int64_t> maybe(const Value& value) {
  if (ledger::is_null(value)) return std::nullopt;
  return whole(value);
}

Play play_from_here(const Values& row) {
  return {.report = text(row[0]),
          .capture = text(row[1]),
          .ticket = text(row[2]),
          .run = text(row[3]),
          .title = text(row[4]),
          .side = text(row[5]),
          .letter = text(row[6]),
          .stamper = text(row[7]),
          .mounting = text(row[8]),
          .first = whole(row[9]),
          .last = whole(row[10]),
          .title_first = maybe(row[11]),
          .play = whole(row[12]),
          .pass = whole(row[14]),
          .plain = whole(row[15]),
          .slight = whole(row[16]),
          .at_ms = whole(row[20]),
          .after = text(row[13]),
          .limits = text(row[19]),
          .eccentricity_m = real(row[17]),
          .weighted_noise_dB = real(row[18])};
}

}  // namespace goodside::serve
