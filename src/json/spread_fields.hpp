#pragma once
#include <nlohmann/json.hpp>

#include "json/cursor.hpp"
#include "works/trace_report.hpp"

namespace goodside::json {

// Where a trace's spread stands in goodside.trace/1:
//   spread        {noise: {stamper: {variance, low, high}, …, residual: {…}}, …}; a measure of side B that
//                 side A has too is named "noise B"
//   spread_notes  [{measure, side, unit, mean, discs, intervals, sources: [], levels: [{source, id, effect,
//                 sigma, discs}], not_told: []}], in the order of `spread`
//   off_centre    [{side, discs, mean_m: [x, y], components: {source: {variance, low, high}}, sources: [], holes: [{id,
//                 size_m, direction_deg, sigma_m, discs}], pins: [{press, size_m, sigma_m, mountings, discs}],
//                 not_told: []}]

void add_spread(const works::TraceReport&, nlohmann::ordered_json& trace);
/// `document` is what `trace` stands in, for the names of its measures. A trace that was written without
/// notes or off_centre has none. Throws Refusal.
void read_spread(const Cursor& trace, const nlohmann::json& document, works::TraceReport&);

}  // namespace goodside::json
