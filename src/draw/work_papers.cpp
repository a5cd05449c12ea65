#include "draw/work_papers.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

namespace goodside::draw {
namespace {

constexpr double row_by_hand_mm = 8.0;

PaperCode matrix_of(const std::string& code) {
  return {.kind = PaperCode::Kind::data_matrix, .content = code};
}

std::string kilograms(const std::optional<double>& mass_kg) {
  return mass_kg ? fmt::format("{:.2f}", *mass_kg) : std::string{};
}

PaperText begun(const std::string& what,
                const std::string& code,
                const std::string& headline,
                const PaperStamp& stamp) {
  return {.what = what,
          .headline = headline,
          .code = code,
          .symbol = matrix_of(code),
          .works = stamp.works,
          .date = stamp.date};
}

/// What a scale of the usual kind shows: grams from 100 g up, tenths below.
std::string weighed(double mass_kg) {
  return mass_kg >= 1.0   ? fmt::format("{:.3f} kg", mass_kg)
         : mass_kg >= 0.1 ? fmt::format("{:.1f} g", 1e3 * mass_kg)
                          : fmt::format("{:.2f} g", 1e3 * mass_kg);
}

}  // namespace

PaperText part_traveller(const PartTraveller& part, const PaperStamp& stamp) {
  PaperText text = begun("Job traveller: " + part.kind, part.code, part.title, stamp);
  text.parts.push_back({.pairs = part.facts});
  PaperPart done{
      .heading = "Done",
      .table = {.columns = {{"when", 1.5}, {"step", 1.6}, {"readings", 3.4}, {"by", 1.0}}}};
  for (const auto& step : part.done)
    done.table.rows.push_back({step.when, step.what, step.readings, step.who});
  if (part.done.empty()) done.table = {}, done.sentences = {"Nothing yet."};
  text.parts.push_back(std::move(done));
  PaperPart next{
      .heading = "To do",
      .table = {.columns = {{"step", 1.6}, {"readings", 3.2}, {"day, hour", 1.5}, {"by", 1.2}}}};
  for (const std::string& step : part.to_do) next.table.rows.push_back({step});
  next.table.least_row_mm = row_by_hand_mm;
  if (!part.to_do.empty()) text.parts.push_back(std::move(next));
  text.caution = works::caution(part.station);
  return text;
}

PaperText run_traveller(const RunTraveller& run, const PaperStamp& stamp) {
  PaperText text = begun("Job traveller: run", run.code, run.title, stamp);
  text.parts.push_back({.pairs = run.facts});
  if (!run.cycle.empty()) text.parts.push_back({.heading = "Press cycle", .pairs = run.cycle});
  PaperPart table{.heading = "Pressed",
                  .table = {.columns = {{"impressions", 1.5},
                                        {"batch", 1.2},
                                        {"mounting", 1.2},
                                        {"counter", 1.4},
                                        {"when", 1.5},
                                        {"spindle", 1.0},
                                        {"by", 0.8}}}};
  table.table.least_row_mm = row_by_hand_mm;
  for (const auto& row : run.pressed)
    table.table.rows.push_back(
        {row.impressions, row.batch, row.mounting, row.counter, row.when, "", ""});
  for (std::int64_t i = 0; i < run.blank_rows; ++i) table.table.rows.push_back({""});
  text.parts.push_back(std::move(table));
  text.parts.push_back({.to_sign = {"Labels and stampers looked at, right pair, right side",
                                    "First disc looked at and heard"}});
  text.caution = works::caution(works::Station::press);
  return text;
}

namespace {

using WeighLine = WeighUp::Line;

struct WeighColumn {
  PaperColumn column{};
  std::string (*cell)(const WeighLine&){};
  bool by_hand{};  ///< kept though empty
};

std::string ingredient_cell(const WeighLine& line) {
  std::string cell = line.ingredient;
  if (!line.hazard.empty()) cell += " (" + line.hazard + ")";
  if (line.times > 1) cell += fmt::format(", in {} weighings", line.times);
  return cell;
}

const WeighColumn weigh_columns[] = {
    {{"in", 0.35},
     [](const WeighLine& line) {
       return line.charge > 0 ? fmt::format("{}", line.charge) : std::string{};
     }},
    {{"ingredient", 2.4}, ingredient_cell},
    {{"lot", 1.5}, [](const WeighLine& line) { return line.lot; }, true},
    {{"asked", 1.2, true},
     [](const WeighLine& line) { return line.asked_kg > 0.0 ? weighed(line.asked_kg) : ""; }},
    {{"±", 1.1, true},
     [](const WeighLine& line) { return line.tolerance_kg ? weighed(*line.tolerance_kg) : ""; }},
    {{"scale", 0.8}, [](const WeighLine& line) { return line.scale; }},
    {{"weighed", 1.4, true},
     [](const WeighLine& line) { return line.weighed_kg ? weighed(*line.weighed_kg) : ""; },
     true},
    {{"by", 0.7}, [](const WeighLine&) { return std::string{}; }, true}};

/// What all lines come to; the weighed sum only where each is weighed.
WeighLine together(const std::vector<WeighLine>& lines) {
  WeighLine sum{.ingredient = "all together"};
  double weighed_kg = 0.0;
  for (const WeighLine& line : lines) {
    sum.asked_kg += line.asked_kg;
    weighed_kg += line.weighed_kg.value_or(0.0);
  }
  if (!lines.empty() &&
      std::ranges::all_of(lines, [](const WeighLine& line) { return line.weighed_kg.has_value(); }))
    sum.weighed_kg = weighed_kg;
  return sum;
}

PaperTable weigh_table(std::vector<WeighLine> lines) {
  PaperTable table{.least_row_mm = row_by_hand_mm};
  std::vector<const WeighColumn*> shown;
  for (const WeighColumn& one : weigh_columns)
    if (one.by_hand ||
        std::ranges::any_of(lines, [&](const WeighLine& line) { return !one.cell(line).empty(); }))
      shown.push_back(&one);
  lines.push_back(together(lines));
  for (const WeighColumn* one : shown) table.columns.push_back(one->column);
  for (const WeighLine& line : lines) {
    auto& row = table.rows.emplace_back();
    for (const WeighColumn* one : shown) row.push_back(one->cell(line));
  }
  return table;
}

}  // namespace

PaperText weigh_up_sheet(const WeighUp& sheet, const PaperStamp& stamp) {
  PaperText text = begun("Weigh-up sheet", sheet.batch, sheet.recipe, stamp);
  text.parts.push_back({.pairs = sheet.facts});
  text.parts.push_back({.table = weigh_table(sheet.lines)});
  if (!sheet.remarks.empty()) text.parts.push_back({.sentences = sheet.remarks});
  PaperPart by_hand{
      .to_sign = {"Scale checked with its test weight", "Weighed", "Looked at by a second person"}};
  if (sheet.batch.empty())
    text.symbol = {}, by_hand.to_sign.insert(by_hand.to_sign.begin(), "Batch");
  text.parts.push_back(std::move(by_hand));
  text.caution = sheet.cautions.empty() ? works::caution(works::Station::compound)
                                        : fmt::format("{}", fmt::join(sheet.cautions, " "));
  return text;
}

WeighUp weigh_up_of(const works::MixReport& report) {
  const works::WeighUp& asked = report.weigh_up;
  WeighUp sheet{.recipe = report.recipe.name, .cautions = report.cautions};
  if (!report.recipe.colour.empty()) sheet.recipe += ", " + report.recipe.colour;
  sheet.facts = {
      {"whole mix", fmt::format("{:.6g} kg, {:.4g} l", asked.batch_kg, 1e3 * asked.volume_m3)},
      {"density",
       fmt::format("{:.3f} g/cm³ without voids", report.mixture.density_kg_per_m3 / 1e3)}};
  if (asked.fill)
    sheet.facts.emplace_back("the bowl", fmt::format("{:.1f} % full", 1e2 * *asked.fill));
  if (asked.batches > 1)
    sheet.facts.emplace_back("charges", fmt::format("this is one of {}", asked.batches));
  for (const works::WeighLine& line : asked.lines)
    sheet.lines.push_back({.charge = line.charge,
                           .ingredient = line.ingredient,
                           .lot = line.lot,
                           .hazard = line.hazard,
                           .scale = line.scale,
                           .times = line.times,
                           .asked_kg = line.weigh_kg,
                           .tolerance_kg = line.tolerance_kg});
  if (report.heat) {
    std::string dump = fmt::format("Dump at {:.4g} °C", report.heat->to_K - 273.15);
    if (report.heat->time_s)
      dump += fmt::format(", after about {:.1f} min", *report.heat->time_s / 60.0);
    sheet.remarks.push_back(dump + ".");
  }
  return sheet;
}

PaperText label_proof(const LabelProof& proof, const PaperStamp& stamp) {
  PaperText text = begun("Centre label proof", proof.code, proof.title, stamp);
  for (const auto& side : proof.sides) {
    PaperPart part{.heading = "Side " + side.label.side, .pairs = side.facts, .label = side.label};
    if (!side.tracks.empty()) {
      part.table.columns = {
          {"no.", 0.5, true}, {"track", 4.0}, {"ISRC", 2.0}, {"length", 0.9, true}};
      for (const auto& track : side.tracks)
        part.table.rows.push_back({track.number, track.name, track.isrc, track.duration});
    }
    text.parts.push_back(std::move(part));
  }
  text.parts.push_back({.sentences = {"The labels are shown at their own size; lay a rule on them "
                                      "before you sign. Colours are "
                                      "not shown. What is printed is what stands here: look at "
                                      "spelling, side, matrix number and "
                                      "speed."},
                        .to_sign = {"Right as shown: name, day"}});
  return text;
}

PaperText packing_list(const PackingList& list, const PaperStamp& stamp) {
  PaperText text = begun("Packing list", list.code, list.title, stamp);
  PaperPart facts{.pairs = list.facts};
  if (!list.to.empty()) facts.pairs.insert(facts.pairs.begin(), {"to", list.to});
  text.parts.push_back(std::move(facts));
  const auto any = [&](auto field) {
    return std::ranges::any_of(list.cartons,
                               [&](const PackedCarton& one) { return !(one.*field).empty(); });
  };
  const bool pallets = any(&PackedCarton::pallet), numbers = any(&PackedCarton::number);
  PaperPart table{.heading = "Cartons"};
  auto& columns = table.table.columns;
  columns = {{"carton", 1.4}};
  if (numbers) columns.push_back({"SSCC", 2.7});
  if (pallets) columns.push_back({"pallet", 1.2});
  for (const PaperColumn& column : {PaperColumn{"discs", 0.8, true},
                                    PaperColumn{"impressions", 2.2},
                                    PaperColumn{"spindle", 1.2},
                                    PaperColumn{"gross kg", 1.0, true}})
    columns.push_back(column);
  std::int64_t discs = 0;
  double gross_kg = 0.0;
  bool all_weighed = !list.cartons.empty();
  for (const PackedCarton& one : list.cartons) {
    std::vector<std::string> row{one.code};
    if (numbers) row.push_back(one.number);
    if (pallets) row.push_back(one.pallet);
    for (const std::string& cell :
         {fmt::format("{}", one.discs), one.impressions, one.spindles, kilograms(one.gross_kg)})
      row.push_back(cell);
    table.table.rows.push_back(std::move(row));
    discs += one.discs;
    gross_kg += one.gross_kg.value_or(0.0);
    all_weighed = all_weighed && one.gross_kg;
  }
  text.parts.push_back(std::move(table));
  PaperPart sum{.heading = "Together",
                .pairs = {{"discs", fmt::format("{}", discs)},
                          {"cartons", fmt::format("{}", list.cartons.size())}}};
  if (all_weighed) sum.pairs.emplace_back("gross, cartons", fmt::format("{:.1f} kg", gross_kg));
  sum.to_sign = {"Counted and packed", "Received in good order"};
  text.parts.push_back(std::move(sum));
  text.caution = works::caution(works::Station::packing);
  return text;
}

PaperText consignment_note(const ConsignmentNote& note, const PaperStamp& stamp) {
  PaperText text = begun("Consignment note", note.code, "", stamp);
  text.parts.push_back(
      {.pairs = {{"sender", note.from}, {"consignee", note.to}, {"carrier", note.carrier}}});
  text.parts.push_back({.pairs = note.facts});
  PaperPart goods{.heading = "Goods",
                  .table = {.columns = {{"what", 4.0},
                                        {"packages", 1.0, true},
                                        {"discs", 1.0, true},
                                        {"gross kg", 1.2, true}}}};
  for (const auto& row : note.goods)
    goods.table.rows.push_back({row.what,
                                fmt::format("{}", row.packages),
                                fmt::format("{}", row.discs),
                                kilograms(row.gross_kg)});
  text.parts.push_back(std::move(goods));
  text.parts.push_back({.heading = "Care", .sentences = note.remarks});
  text.parts.push_back({.to_sign = {"Sender: handed over, day and hour",
                                    "Carrier: packages received, outwardly sound",
                                    "Consignee: packages received, reservations"}});
  text.caution = works::caution(works::Station::packing);
  return text;
}

PaperText inspection_certificate(const Certificate& paper, const PaperStamp& stamp) {
  PaperText text = begun("Certificate of inspection", paper.code, paper.title, stamp);
  text.parts.push_back({.pairs = paper.facts});
  text.parts.push_back({.heading = "How the sample was drawn", .sentences = paper.plan});
  PaperPart heard{.heading = "Heard",
                  .table = {.columns = {{"ticket", 1.6},
                                        {"disc", 1.0, true},
                                        {"side", 0.6},
                                        {"verdict", 1.7},
                                        {"plain", 0.9, true},
                                        {"slight", 0.95, true},
                                        {"offset mm", 1.35, true},
                                        {"noise dB", 1.3, true}}}};
  for (const auto& row : paper.heard)
    heard.table.rows.push_back({row.ticket,
                                row.disc,
                                row.side,
                                row.verdict,
                                row.plain,
                                row.slight,
                                row.offset,
                                row.noise});
  if (paper.heard.empty()) heard.table = {}, heard.sentences = {"Nothing was heard."};
  text.parts.push_back(std::move(heard));
  if (!paper.looked.empty()) {
    PaperPart looked{
        .heading = "Looked at",
        .table = {.columns = {{"discs", 2.0}, {"looked at", 1.0, true}, {"found", 4.0}}}};
    for (const auto& row : paper.looked)
      looked.table.rows.push_back({row.range, row.looked, row.found});
    text.parts.push_back(std::move(looked));
  }
  if (!paper.discs.empty())
    text.parts.push_back({.heading = "The sides heard", .discs = paper.discs});
  text.parts.push_back({.heading = "What follows",
                        .sentences = paper.conclusion,
                        .to_sign = {"For the works: name, day"}});
  text.caution = works::caution(works::Station::listening);
  return text;
}

}  // namespace goodside::draw
