#include "line/log_batch.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "line/add_noun.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::Row;
using ledger::text;
using ledger::Writer;

std::string lot_of(const works::MixReport& report, const std::string& ingredient) {
  const auto& all = report.recipe.ingredients;
  const auto found = std::ranges::find(all, ingredient, &works::Ingredient::name);
  return found == all.end() ? std::string{} : found->lot;
}

std::string new_batch(Writer& writer, const works::MixReport& report, const BatchLog& log) {
  double mass_kg = 0.0;
  for (const auto& one : log.weighed) mass_kg += one.mass_kg;
  Row row{{"recipe", report.recipe.name},
          {"material", report.recipe.kind.empty() ? report.recipe.name : report.recipe.kind},
          {"mass_kg", mass_kg}};
  if (!report.recipe.colour.empty()) row["colour"] = report.recipe.colour;
  return add_within(writer, works::kind_of_table("batch"), std::move(row));
}

void add_weighing(Writer& writer,
                  const works::MixReport& report,
                  const BatchLog& log,
                  const std::string& batch,
                  const works::Weighed& one) {
  Row row{{"batch", batch}, {"ingredient", one.ingredient}, {"weighed_kg", one.mass_kg}};
  if (const auto lot = lot_of(report, one.ingredient); !lot.empty()) row["lot"] = lot;
  const auto& lines = report.weigh_up.lines;
  const auto line = std::ranges::find(lines, one.ingredient, &works::WeighLine::ingredient);
  if (!log.batch.empty()) {
    row["note"] = "added to put the batch right";
  } else if (line != lines.end()) {
    row["asked_kg"] = line->weigh_kg;
  }
  add_within(writer, works::kind_of_table("weighing"), std::move(row));
}

/// The batch's mass with what was added to it.
void add_mass(Writer& writer, const BatchLog& log) {
  Row row = writer.need("batch", log.batch);
  if (ledger::is_null(at(row, "mass_kg"))) return;
  double mass_kg = std::get<double>(at(row, "mass_kg"));
  for (const auto& one : log.weighed) mass_kg += one.mass_kg;
  row["mass_kg"] = mass_kg;
  writer.alter("batch", std::move(row));
}

void add_up(std::vector<works::Weighed>& all, const Row& row, std::string_view column) {
  if (ledger::is_null(at(row, column))) return;
  const std::string name = text(at(row, "ingredient"));
  const double mass_kg = std::get<double>(at(row, column));
  const auto met = std::ranges::find(all, name, &works::Weighed::ingredient);
  if (met == all.end())
    all.push_back({name, mass_kg});
  else
    met->mass_kg += mass_kg;
}

}  // namespace

Result<RecordedBatch> recorded_batch(ledger::Record& record, const std::string& batch) {
  RecordedBatch recorded;
  const auto asked = record.read([&](ledger::Reader& reader) {
    static_cast<void>(reader.need("batch", batch));
    for (const Row& row : reader.standing("weighing", "batch", batch)) {
      add_up(recorded.weighed, row, "weighed_kg");
      add_up(recorded.asked, row, "asked_kg");
    }
  });
  if (!asked) return asked.error();
  return recorded;
}

Result<Entered> log_batch(const Desk& desk, const works::MixReport& report, const BatchLog& log) {
  if (log.weighed.empty())
    return Error{Fault::bad_input,
                 "nothing was weighed, so there is nothing to enter; give --weighed or --said"};
  Entered entered;
  const auto act = desk.act(log.batch.empty() ? "batch" : "batch added to", log.batch);
  auto head = desk.record.write(act, [&](Writer& writer) {
    entered.code = log.batch;
    if (log.batch.empty())
      entered.code = new_batch(writer, report, log);
    else
      add_mass(writer, log);
    writer.about(entered.code);
    for (const auto& one : log.weighed) add_weighing(writer, report, log, entered.code, one);
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

Result<Entered> log_biscuits(const Desk& desk,
                             const works::BiscuitReport& report,
                             const std::string& batch) {
  if (!report.now || report.now->count == 0)
    return Error{
        Fault::bad_input,
        "no biscuits were weighed, so there is nothing to enter; give --weighed with five or more"};
  Entered entered;
  auto head = desk.record.write(desk.act("biscuits", batch), [&](Writer& writer) {
    Row row{{"batch", batch},
            {"quantity", std::int64_t{report.now->count}},
            {"mass_kg", report.now->mean_kg},
            {"note",
             fmt::format("sigma {:.3g} g; aim {:.1f} g; short fill {:.2g}, too thick {:.2g}",
                         1e3 * report.now->sigma_kg,
                         1e3 * *report.aim_kg,
                         report.now->short_chance,
                         report.now->thick_chance)}};
    if (report.request.puck_diameter_m) row["diameter_m"] = *report.request.puck_diameter_m;
    if (report.request.sheet_thickness_m) row["thickness_m"] = *report.request.sheet_thickness_m;
    entered.code = add_within(writer, works::kind_of_table("biscuit"), std::move(row));
    writer.about(entered.code);
  });
  if (!head) return head.error();
  entered.head = *head;
  return entered;
}

}  // namespace goodside::line
