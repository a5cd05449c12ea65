#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "dispatch/gs1.hpp"
#include "line/instants.hpp"
#include "line/paper_facts.hpp"
#include "line/read_fields.hpp"
#include "line/unit_contents.hpp"
#include "line/works_papers.hpp"

namespace goodside::line {
namespace {

using draw::PaperCode;
using draw::UnitLabel;
using ledger::at;
using ledger::Reader;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;

PaperCode gs1(PaperCode::Kind kind, const std::vector<dispatch::Element>& elements) {
  PaperCode code{.kind = kind, .text = dispatch::element_text(elements)};
  for (const auto& [identifier, data] : elements) code.content += "[" + identifier + "]" + data;
  return code;
}

std::string gtin_of(Reader& reader, const std::string& order) {
  const auto row = reader.find("orders", order);
  const auto title = row ? reader.find("title", text(at(*row, "title"))) : std::nullopt;
  return title ? text(at(*title, "gtin")) : std::string{};
}

/// By GS1's standard where the unit has a number of it, by its own code where it has none.
void put_codes(UnitLabel& label,
               const std::string& sscc,
               const std::string& gtin,
               std::int64_t discs) {
  if (sscc.empty()) {
    label.matrix = {.kind = PaperCode::Kind::data_matrix, .content = label.code};
    label.bars = {{.kind = PaperCode::Kind::code_128, .content = label.code, .text = label.code}};
    return;
  }
  const dispatch::Element number{"00", sscc};
  std::vector<dispatch::Element> all{number};
  if (!gtin.empty()) {
    const std::vector<dispatch::Element> content{{"02", dispatch::gtin_14(gtin)},
                                                 {"37", fmt::format("{}", discs)}};
    label.bars.push_back(gs1(PaperCode::Kind::gs1_128, content));
    all.insert(all.end(), content.begin(), content.end());
  }
  label.bars.push_back(gs1(PaperCode::Kind::gs1_128, {number}));
  label.matrix = gs1(PaperCode::Kind::gs1_data_matrix, all);
}

/// Presses, mountings and batches that the carton's discs may have come from.
void put_origin(Reader& reader, const CartonContents& carton, UnitLabel& label) {
  std::set<std::string> mountings, batches;
  for (const ContentLine& line : carton.lines)
    for (const Row& pressing : reader.standing("pressing", "run", line.run)) {
      const works::Impressions range{whole(at(pressing, "first")), whole(at(pressing, "last"))};
      if (!range.meets(line.holding.impressions)) continue;
      if (const std::string mounting = text(at(pressing, "mounting")); !mounting.empty())
        mountings.insert(mounting);
      if (const std::string batch = text(at(pressing, "batch")); !batch.empty())
        batches.insert(batch);
    }
  const auto joined = [](const std::set<std::string>& all) {
    std::string out;
    for (const std::string& one : all) out += (out.empty() ? "" : ", ") + one;
    return out;
  };
  if (!mountings.empty()) label.pairs.emplace_back("stamper set", joined(mountings));
  if (!batches.empty()) label.pairs.emplace_back("batch", joined(batches));
}

void put_order(Reader& reader, const std::string& order, UnitLabel& label) {
  label.headline = title_of_order(reader, order);
  const auto row = reader.find("orders", order);
  if (!row) return;
  label.pairs.emplace_back("order", order);
  if (const std::string own = text(at(*row, "customer_reference")); !own.empty())
    label.pairs.emplace_back("customer's number", own);
  if (const auto title = reader.find("title", text(at(*row, "title"))))
    if (const std::string catalogue = text(at(*title, "catalogue")); !catalogue.empty())
      label.pairs.emplace_back("catalogue", catalogue);
  std::string matrices;
  for (const Row& side : reader.standing("side", "title", text(at(*row, "title"))))
    if (const std::string matrix = text(at(side, "matrix")); !matrix.empty())
      matrices += (matrices.empty() ? "" : " / ") + matrix;
  if (!matrices.empty()) label.pairs.emplace_back("matrix", matrices);
  if (label.to.empty()) label.to = text(at(*row, "customer"));
}

std::string place_of(Reader& reader, const std::string& shipment) {
  const auto row = reader.find("shipment", shipment);
  return row ? text(at(*row, "to")) : std::string{};
}

UnitLabel carton_label(Reader& reader, const std::string& code, const std::string& works) {
  const CartonContents carton = carton_contents(reader, code);
  UnitLabel label{.code = code};
  std::int64_t before = 0, all = 0;
  for (const auto& cell :
       reader.connection().ask("SELECT DISTINCT c.code FROM carton c JOIN holding h ON h.at = "
                               "c.code WHERE c.\"order\" = $1",
                               {carton.order})) {
    ++all;
    before += text(cell[0]) <= code ? 1 : 0;
  }
  label.what = fmt::format("Carton {} of {}", before, all) + (works.empty() ? "" : " · " + works);
  label.count = fmt::format("{} disc{}", carton.discs, carton.discs == 1 ? "" : "s");
  label.to = place_of(reader, carton.shipment);
  put_order(reader, carton.order, label);
  label.pairs.emplace_back("impressions", ranges_text(carton));
  if (const std::string spindles = spindles_text(carton); !spindles.empty())
    label.pairs.emplace_back("spindle", spindles);
  put_origin(reader, carton, label);
  if (carton.gross_kg)
    label.pairs.emplace_back("gross", fmt::format("{:.1f} kg", *carton.gross_kg));
  label.caution = "Assess the lift; use a truck or two people where in doubt.";
  put_codes(label, carton.sscc, gtin_of(reader, carton.order), carton.discs);
  return label;
}

UnitLabel pallet_label(Reader& reader, const std::string& code, const std::string& works) {
  const UnitContents unit = unit_contents(reader, code);
  UnitLabel label{.what = "Pallet" + (works.empty() ? "" : " · " + works), .code = code};
  label.count = fmt::format("{} cartons, {} discs", unit.cartons.size(), unit.discs());
  const auto pallet = reader.find("pallet", code);
  if (pallet) label.to = place_of(reader, text(at(*pallet, "shipment")));
  put_order(reader, unit.order, label);
  double gross_kg = 0.0;
  bool weighed = !unit.cartons.empty();
  for (const CartonContents& carton : unit.cartons) {
    gross_kg += carton.gross_kg.value_or(0.0);
    weighed = weighed && carton.gross_kg;
  }
  if (weighed) label.pairs.emplace_back("cartons' mass", fmt::format("{:.0f} kg", gross_kg));
  label.caution = "By truck only. Never stand under a raised load.";
  put_codes(label, unit.sscc, gtin_of(reader, unit.order), unit.discs());
  return label;
}

UnitLabel ticket_label(Reader& reader, const std::string& code) {
  const Row row = reader.need("ticket", code);
  const Row run = reader.need("run", text(at(row, "run")));
  UnitLabel label{.what = "Sample ticket",
                  .code = code,
                  .headline = title_text(reader, text(at(run, "title")))};
  const auto add = [&](const char* name, const std::string& value) {
    if (!value.empty()) label.pairs.emplace_back(name, value);
  };
  const std::int64_t first = whole(at(row, "first")), last = whole(at(row, "last"));
  add("impression", first == last ? fmt::format("{}", first) : fmt::format("{}–{}", first, last));
  add("run", text(at(row, "run")));
  add("press", text(at(run, "press")));
  add("mounting", text(at(row, "mounting")));
  if (!ledger::is_null(at(row, "counter")))
    add("counter", fmt::format("{}", whole(at(row, "counter"))));
  add("spindle", text(at(row, "spindle")));
  add("time", shown_instant(whole(at(row, "at_ms"))));
  add("reason", text(at(row, "reason")));
  label.matrix = {.kind = PaperCode::Kind::data_matrix, .content = code};
  label.bars = {{.kind = PaperCode::Kind::code_128, .content = code, .text = code}};
  return label;
}

}  // namespace

Result<std::vector<UnitLabel>> works_labels(ledger::Record& record,
                                            const std::vector<std::string>& codes,
                                            const std::string& works) {
  if (const auto fit = fit_text(works); !fit) return fit.error();
  std::vector<UnitLabel> labels;
  const auto asked = record.read([&](Reader& reader) {
    for (const std::string& code : codes) {
      if (reader.find("carton", code)) {
        labels.push_back(carton_label(reader, code, works));
      } else if (reader.find("pallet", code)) {
        labels.push_back(pallet_label(reader, code, works));
      } else if (reader.find("ticket", code)) {
        labels.push_back(ticket_label(reader, code));
      } else if (reader.find("shipment", code)) {
        std::set<std::string> pallets;
        for (const CartonContents& carton : unit_contents(reader, code).cartons) {
          if (!carton.pallet.empty() && pallets.insert(carton.pallet).second)
            labels.push_back(pallet_label(reader, carton.pallet, works));
          labels.push_back(carton_label(reader, carton.code, works));
        }
      } else {
        refuse(
            Fault::not_found,
            fmt::format("there is no carton, pallet, shipment or ticket {} to be labelled", code));
      }
    }
  });
  if (!asked) return asked.error();
  return labels;
}

}  // namespace goodside::line
