#pragma once
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "ledger/record.hpp"

namespace goodside::line {

/// What the record can chart: biscuit-mass, biscuit-thickness, biscuit-diameter, eccentricity, noise,
/// faults, and reading:NAME of any figure taken at a step (reading:thickness_m).
struct SeriesRequest {
  std::string of{};
  std::string run{};     ///< of heard sides; empty: all runs
  std::string letter{};  ///< of heard sides; empty: all sides
};

struct ChartSeries {
  std::string what{}, unit{};  ///< as people read it: g, mm, dB
  bool counts{};               ///< faults a side: `values` are whole numbers
  struct Point {
    std::string label{};
    double value{};
  };
  std::vector<Point> points{};  ///< in the order of time
  std::string remark{};         ///< what to beware of; empty: nothing
};

/// Errors: Fault::bad_input for a series that is none of them, naming the nearest, or without a value in
/// the record; Fault::not_found for a run that there is none of.
Result<ChartSeries> chart_series(ledger::Record&, const SeriesRequest&);

}  // namespace goodside::line
