#include "line/works_papers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <map>
#include <set>

#include "disc/format.hpp"
#include "dispatch/isrc.hpp"
#include "intake/compressed_file.hpp"
#include "json/listening_report.hpp"
#include "line/instants.hpp"
#include "line/order_state.hpp"
#include "line/paper_facts.hpp"
#include "line/read_fields.hpp"
#include "line/unit_contents.hpp"
#include "works/part.hpp"

namespace goodside::line {
namespace {

using draw::PaperPairs;
using ledger::at;
using ledger::or_refuse;
using ledger::Reader;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::array<std::pair<std::string_view, PaperKind>, 6> kinds{
    {{"traveller", PaperKind::traveller},
     {"weigh-up", PaperKind::weigh_up},
     {"label-proof", PaperKind::label_proof},
     {"packing-list", PaperKind::packing_list},
     {"certificate", PaperKind::certificate},
     {"consignment-note", PaperKind::consignment_note}}};

[[noreturn]] void no_paper_of(const std::string& code, const char* of) {
  refuse(Fault::not_found, fmt::format("{} is no {}; this paper is of one", code, of));
}

// ---- travellers

std::vector<std::string> finishing_of(const std::string& kind, bool presses) {
  if (kind == "lacquer" || kind == "wax") return {"silvered"};
  std::vector<std::string> steps{"grown", "separated"};
  if (kind == "stamper") steps.emplace_back("faced");
  if (presses || kind == "stamper")
    for (const char* step : {"backed", "washed", "centred", "punched", "trimmed"})
      steps.emplace_back(step);
  steps.emplace_back("inspected");
  return steps;
}

works::Station station_of(const std::string& step) {
  if (step == "silvered") return works::Station::silvering;
  if (step == "grown" || step == "separated" || step == "faced" || step.empty())
    return works::Station::plating;
  return works::Station::finishing;
}

draw::PaperText part_paper(Reader& reader, const Row& part, const draw::PaperStamp& stamp) {
  const std::string code = text(at(part, "code")), kind = text(at(part, "kind"));
  draw::PartTraveller paper{.code = code, .kind = kind};
  PaperFacts facts{reader, paper.facts};
  if (const std::string side = text(at(part, "side")); !side.empty()) {
    const Row row = reader.need("side", side);
    paper.title = title_text(reader, text(at(row, "title")));
    facts.add("side", text(at(row, "letter")) + " (" + side + ")");
    facts.add("matrix number", text(at(row, "matrix")));
    facts.add("format", text(at(row, "format")));
  }
  facts.add("cut", text(at(part, "cut")));
  facts.add("grown from", text(at(part, "parent")));
  if (!ledger::is_null(at(part, "grown")))
    facts.add("ordinal", fmt::format("{}", whole(at(part, "grown"))));
  facts.add("bought from", text(at(part, "supplier")));
  facts.add("state", text(at(part, "state")));
  facts.add("note", text(at(part, "note")));
  std::set<std::string> done;
  for (const Row& step : reader.standing("step", "part", code)) {
    draw::PartTraveller::Step line{.when = shown_instant(whole(at(step, "at_ms"))),
                                   .what = text(at(step, "what")),
                                   .readings = {},
                                   .who = text(at(step, "who"))};
    for (const Row& reading : reader.standing("reading", "step", text(at(step, "code"))))
      line.readings += (line.readings.empty() ? "" : ", ") + reading_text(reading);
    if (const std::string note = text(at(step, "note")); !note.empty())
      line.readings += (line.readings.empty() ? "" : "; ") + note;
    done.insert(line.what);
    paper.done.push_back(std::move(line));
  }
  const bool over = text(at(part, "state")) == "withdrawn" || text(at(part, "state")) == "scrapped";
  const bool ready = text(at(part, "origin")) != "grown" && kind != "lacquer" && kind != "wax";
  if (!over && !ready)
    for (const std::string& step : finishing_of(kind, whole(at(part, "presses")) != 0))
      if (!done.contains(step)) paper.to_do.push_back(step);
  paper.station = station_of(paper.to_do.empty() ? "inspected" : paper.to_do.front());
  return part_traveller(paper, stamp);
}

draw::PaperText run_paper(Reader& reader, const Row& run, const draw::PaperStamp& stamp) {
  draw::RunTraveller paper{.code = text(at(run, "code")),
                           .title = title_text(reader, text(at(run, "title")))};
  PaperFacts facts{reader, paper.facts};
  facts.order(text(at(run, "order")));
  facts.add("purpose", text(at(run, "purpose")));
  facts.named("press", "press", text(at(run, "press")));
  facts.mounting_on(text(at(run, "press")));
  facts.sides(text(at(run, "title")));
  if (const auto recipe = reader.find("recipe", text(at(run, "recipe")))) {
    PaperFacts cycle{reader, paper.cycle};
    cycle.add("recipe", text(at(*recipe, "name")));
    cycle.quantity("steam, gauge", *recipe, "steam_pressure_Pa", 1e-5, "bar", 2);
    cycle.quantity("mould", *recipe, "mould_temperature_K", 1.0, "°C", 1, -273.15);
    cycle.quantity("steam time", *recipe, "steam_time_s", 1.0, "s", 1);
    cycle.quantity("cooling time", *recipe, "cooling_time_s", 1.0, "s", 1);
    cycle.quantity("cycle", *recipe, "cycle_time_s", 1.0, "s", 1);
  }
  for (const Row& row : reader.standing("pressing", "run", paper.code))
    paper.pressed.push_back(
        {.impressions = fmt::format("{}–{}", whole(at(row, "first")), whole(at(row, "last"))) +
                        (text(at(row, "purpose")) == "run" ? "" : ", " + text(at(row, "purpose"))),
         .batch = text(at(row, "batch")),
         .mounting = text(at(row, "mounting")),
         .counter = ledger::is_null(at(row, "counter_to"))
                        ? ""
                        : fmt::format("{}", whole(at(row, "counter_to"))),
         .when = shown_instant(whole(at(row, "at_ms")))});
  return run_traveller(paper, stamp);
}

draw::PaperText traveller(Reader& reader, const std::string& code, const draw::PaperStamp& stamp) {
  if (reader.find("part", code)) return part_paper(reader, reader.need("part", code), stamp);
  if (reader.find("run", code)) return run_paper(reader, reader.need("run", code), stamp);
  no_paper_of(code, "part or run");
}

draw::PaperText weigh_up(Reader& reader, const std::string& code, const draw::PaperStamp& stamp) {
  if (!reader.find("batch", code)) no_paper_of(code, "batch");
  const Row batch = reader.need("batch", code);
  draw::WeighUp paper{.batch = code, .recipe = text(at(batch, "recipe"))};
  PaperFacts facts{reader, paper.facts};
  facts.add("material", text(at(batch, "material")));
  facts.add("colour", text(at(batch, "colour")));
  facts.quantity("whole mix", batch, "mass_kg", 1.0, "kg", 3);
  facts.add("note", text(at(batch, "note")));
  for (const Row& row : reader.standing("weighing", "batch", code)) {
    draw::WeighUp::Line line{.ingredient = text(at(row, "ingredient")),
                             .lot = text(at(row, "lot"))};
    if (const auto& asked = at(row, "asked_kg"); !ledger::is_null(asked))
      line.asked_kg = std::get<double>(asked);
    if (const auto& weighed = at(row, "weighed_kg"); !ledger::is_null(weighed))
      line.weighed_kg = std::get<double>(weighed);
    paper.lines.push_back(std::move(line));
  }
  return weigh_up_sheet(paper, stamp);
}

std::string speed_text(double rpm) {
  return std::abs(rpm - 100.0 / 3.0) < 0.01 ? "33⅓ rpm" : fmt::format("{:.4g} rpm", rpm);
}

draw::PaperText proof(Reader& reader, const std::string& code, const draw::PaperStamp& stamp) {
  if (!reader.find("title", code)) no_paper_of(code, "title");
  const Row title = reader.need("title", code);
  draw::LabelProof paper{.code = code, .title = title_text(reader, code)};
  for (const Row& side : reader.standing("side", "title", code)) {
    const auto format = disc::format(text(at(side, "format")));
    draw::LabelProof::Side one;
    one.label = {.title = text(at(title, "name")),
                 .artist = text(at(title, "artist")),
                 .side = text(at(side, "letter")),
                 .matrix = text(at(side, "matrix")),
                 .catalogue = text(at(title, "catalogue"))};
    std::optional<double> rpm;
    if (const auto& told = at(side, "speed_rpm"); !ledger::is_null(told))
      rpm = std::get<double>(told);
    if (format) {
      one.label.diameter_m = format->label_diameter_m;
      one.label.hole_diameter_m = format->hole_diameter_m;
      if (!rpm) rpm = format->rpm;
    }
    if (rpm) one.label.speed = speed_text(*rpm);
    PaperFacts facts{reader, one.facts};
    facts.add("side of the record", text(at(side, "code")));
    facts.add("matrix number", one.label.matrix);
    facts.add("speed", one.label.speed);
    facts.add("label",
              fmt::format("{:.1f} mm, hole {:.2f} mm{}",
                          one.label.diameter_m * 1e3,
                          one.label.hole_diameter_m * 1e3,
                          format ? "" : " (the side tells no format)"));
    auto tracks = reader.standing("track", "side", text(at(side, "code")));
    std::ranges::sort(tracks, {}, [](const Row& row) { return whole(at(row, "number")); });
    for (const Row& track : tracks) {
      const std::string number = fmt::format("{}", whole(at(track, "number")));
      one.label.tracks.push_back(number + " " + text(at(track, "name")));
      const auto& duration = at(track, "duration_s");
      one.tracks.push_back(
          {.number = number,
           .name = text(at(track, "name")),
           .isrc = dispatch::shown_isrc(text(at(track, "isrc"))),
           .duration = ledger::is_null(duration) ? "" : draw::clock_s(std::get<double>(duration))});
    }
    paper.sides.push_back(std::move(one));
  }
  if (paper.sides.empty())
    refuse(Fault::conflict, fmt::format("title {} has no sides yet; enter them first", code));
  return label_proof(paper, stamp);
}

// ---- what leaves

UnitContents shipment_of(Reader& reader, const std::string& code) {
  if (!reader.find("shipment", code)) no_paper_of(code, "shipment");
  return unit_contents(reader, code);
}

draw::PackedCarton packed(const CartonContents& carton) {
  return {.code = carton.code,
          .number = carton.sscc,
          .pallet = carton.pallet,
          .discs = carton.discs,
          .impressions = ranges_text(carton),
          .spindles = spindles_text(carton),
          .gross_kg = carton.gross_kg};
}

void owed_facts(Reader& reader, const std::string& order, PaperFacts& facts) {
  const OrderState state = order_state(reader, order);
  facts.add("shipped of the order",
            fmt::format("{} of {}", state.count.shipped, state.count.ordered));
  if (state.count.credited > 0) facts.add("credited", fmt::format("{}", state.count.credited));
  facts.add("still owed", fmt::format("{}", dispatch::still_owed(state.count)));
}

draw::PaperText list_of(Reader& reader, const std::string& code, const draw::PaperStamp& stamp) {
  const UnitContents unit = shipment_of(reader, code);
  draw::PackingList paper{.code = code, .title = title_of_order(reader, unit.order), .to = unit.to};
  PaperFacts facts{reader, paper.facts};
  facts.order(unit.order);
  facts.add("delivery", unit.delivery);
  facts.add("carrier", unit.carrier);
  owed_facts(reader, unit.order, facts);
  for (const CartonContents& carton : unit.cartons) paper.cartons.push_back(packed(carton));
  return packing_list(paper, stamp);
}

draw::PaperText note_of(Reader& reader, const PaperWish& wish, const draw::PaperStamp& stamp) {
  const UnitContents unit = shipment_of(reader, wish.code);
  draw::ConsignmentNote paper{
      .code = wish.code,
      .from = wish.works + (wish.address.empty() ? "" : "\n" + wish.address),
      .to = unit.to,
      .carrier = unit.carrier};
  const Row order = reader.need("orders", unit.order);
  PaperFacts facts{reader, paper.facts};
  facts.order(unit.order);
  std::set<std::string> pallets;
  std::int64_t loose = 0;
  double gross_kg = 0.0;
  bool weighed = !unit.cartons.empty();
  for (const CartonContents& carton : unit.cartons) {
    carton.pallet.empty() ? static_cast<void>(++loose)
                          : static_cast<void>(pallets.insert(carton.pallet));
    gross_kg += carton.gross_kg.value_or(0.0);
    weighed = weighed && carton.gross_kg;
  }
  const bool shellac = text(at(order, "material")).find("shellac") != std::string::npos ||
                       text(at(order, "format")).find("78") != std::string::npos;
  std::string what = "Gramophone discs in cartons: " + title_of_order(reader, unit.order);
  if (!pallets.empty())
    what += fmt::format(" ({} cartons, {} on {} pallet{})",
                        unit.cartons.size(),
                        static_cast<std::int64_t>(unit.cartons.size()) - loose,
                        pallets.size(),
                        pallets.size() == 1 ? "" : "s");
  paper.goods.push_back({.what = what,
                         .packages = static_cast<std::int64_t>(pallets.size()) + loose,
                         .discs = unit.discs(),
                         .gross_kg = weighed ? std::optional{gross_kg} : std::nullopt});
  if (!pallets.empty())
    paper.remarks.emplace_back("The mass is that of the cartons, without pallets.");
  paper.remarks.push_back(
      fmt::format("Keep dry and upright, discs on edge, never under other load. Keep under {} °C: "
                  "the discs bend "
                  "and warp above it (common practice, no source).",
                  shellac ? 40 : 50));
  paper.remarks.emplace_back(
      "Discs and paper alone: plating chemicals, lacquers and solvents never travel under this "
      "note.");
  return consignment_note(paper, stamp);
}

// ---- certificate

struct HeardSide {
  draw::Certificate::Heard line;
  std::string report_path;
};

std::string number_or_blank(const Row& row, const char* column, double scale, int decimals) {
  const auto& value = at(row, column);
  return ledger::is_null(value) ? ""
                                : fmt::format("{:.{}f}", std::get<double>(value) * scale, decimals);
}

std::vector<HeardSide> sides_heard(Reader& reader, const Row& ticket) {
  const std::string code = text(at(ticket, "code"));
  const std::int64_t first = whole(at(ticket, "first")), last = whole(at(ticket, "last"));
  const std::string disc =
      first == last ? fmt::format("{}", first) : fmt::format("{}–{}", first, last);
  std::vector<HeardSide> sides;
  for (const Row& capture : reader.standing("capture", "ticket", code))
    for (const Row& report : reader.standing("report", "capture", text(at(capture, "code"))))
      sides.push_back(
          {{.ticket = code,
            .disc = disc,
            .side = text(at(capture, "letter")),
            .verdict = whole(at(report, "pass")) != 0 ? "within limits" : "outside limits",
            .plain = fmt::format("{}", whole(at(report, "plain"))),
            .slight = fmt::format("{}", whole(at(report, "slight"))),
            .offset = number_or_blank(report, "eccentricity_m", 1e3, 3),
            .noise = number_or_blank(report, "weighted_noise_dB", 1.0, 1)},
           text(at(report, "path"))});
  if (sides.empty())
    sides.push_back(
        {{.ticket = code, .disc = disc, .verdict = text(at(ticket, "heard")) + ", by ear"}, ""});
  return sides;
}

/// The report of a path as the record keeps it: in the works folder.
Result<works::ListeningReport> kept_report(const std::string& folder, const std::string& path) {
  const std::string file = (std::filesystem::path{folder} / path).string();
  const auto bytes = intake::read_compressed(file, json::largest_report_bytes);
  if (!bytes) return bytes.error();
  auto report = json::read(*bytes);
  if (!report) return Error{report.error().fault, file + ": " + report.error().text};
  return report;
}

void look_at_runs(Reader& reader, const std::string& run, draw::Certificate& paper) {
  for (const Row& row : reader.standing("inspection", "run", run)) {
    std::string found;
    for (const Row& tally : reader.standing("tally", "inspection", text(at(row, "code"))))
      found += fmt::format("{}{} {}",
                           found.empty() ? "" : ", ",
                           whole(at(tally, "quantity")),
                           text(at(tally, "reason")));
    paper.looked.push_back(
        {.range =
             ledger::is_null(at(row, "first"))
                 ? run
                 : fmt::format("{} {}–{}", run, whole(at(row, "first")), whole(at(row, "last"))),
         .looked = fmt::format("{}", whole(at(row, "looked"))),
         .found = found.empty() ? "nothing" : found});
  }
}

draw::PaperText certificate(Reader& reader, const PaperWish& wish, const draw::PaperStamp& stamp) {
  std::string order;
  std::optional<UnitContents> shipped;
  if (reader.find("shipment", wish.code)) {
    shipped = unit_contents(reader, wish.code);
    order = shipped->order;
  } else if (reader.find("orders", wish.code)) {
    order = wish.code;
  } else {
    no_paper_of(wish.code, "order or shipment");
  }
  draw::Certificate paper{.code = wish.code, .title = title_of_order(reader, order)};
  PaperFacts facts{reader, paper.facts};
  facts.order(order);
  if (shipped) {
    facts.add("consignee", shipped->to);
    facts.add("discs of this shipment", fmt::format("{}", shipped->discs()));
    std::string ranges;
    for (const CartonContents& carton : shipped->cartons)
      ranges += (ranges.empty() ? "" : "; ") + ranges_text(carton);
    facts.add("impressions", ranges);
  }
  constexpr std::size_t most_sketches = 12;
  std::map<std::string, std::int64_t> reasons;
  std::int64_t pulled = 0, good = 0, bad = 0, made = 0;
  for (const Row& run : reader.standing("run", "order", order)) {
    const std::string code = text(at(run, "code"));
    if (text(at(run, "purpose")) == "test") continue;
    for (const Row& pressing : reader.standing("pressing", "run", code))
      if (text(at(pressing, "purpose")) == "run")
        made += whole(at(pressing, "last")) - whole(at(pressing, "first")) + 1;
    for (const Row& ticket : reader.standing("ticket", "run", code)) {
      ++pulled;
      ++reasons[text(at(ticket, "reason"))];
      const std::string heard = text(at(ticket, "heard"));
      if (heard != "good" && heard != "bad") continue;
      ++(heard == "good" ? good : bad);
      for (HeardSide& side : sides_heard(reader, ticket)) {
        if (!side.report_path.empty() && paper.discs.size() < most_sketches) {
          auto report = or_refuse(kept_report(wish.folder, side.report_path));
          paper.discs.push_back(
              {.caption = side.line.ticket + " " + side.line.side, .report = std::move(report)});
        }
        paper.heard.push_back(std::move(side.line));
      }
    }
    look_at_runs(reader, code, paper);
  }
  if (!wish.plan.empty()) paper.plan.push_back(wish.plan);
  std::string why;
  for (const auto& [reason, count] : reasons)
    why += fmt::format(
        "{}{} {}", why.empty() ? "" : ", ", count, reason.empty() ? "without a reason" : reason);
  paper.plan.push_back(
      pulled == 0
          ? "No disc was pulled at the press."
          : fmt::format(
                "Of {} impressions {} were pulled at the press: {}. What was pressed since the "
                "last good sample stays held until the next is heard.",
                made,
                pulled,
                why));
  const OrderState state = order_state(reader, order);
  std::int64_t suspect = 0;
  for (const auto& [place, discs] : state.places)
    if (place == "suspect") suspect = discs;
  paper.conclusion.push_back(fmt::format(
      "{} heard and good, {} heard and bad, {} not yet heard.", good, bad, pulled - good - bad));
  paper.conclusion.push_back(fmt::format(
      "{} discs of the order are held as suspect; a carton with such discs does not leave.",
      suspect));
  const ledger::Head head = ledger::head_of(reader.connection());
  paper.conclusion.push_back(
      fmt::format("As the record stood at entry {}, head {}.", head.seq, head.hash.substr(0, 16)));
  return inspection_certificate(paper, stamp);
}

}  // namespace

Result<PaperKind> read_paper_kind(std::string_view typed) {
  std::string known;
  for (const auto& [name, kind] : kinds) {
    if (name == typed) return kind;
    known += (known.empty() ? "" : ", ") + std::string{name};
  }
  return Error{
      Fault::bad_input,
      fmt::format("\"{}\" is no paper of this house; there are {}", typed.substr(0, 40), known)};
}

Result<draw::PaperText> works_paper(ledger::Record& record, const PaperWish& wish) {
  for (const std::string* words : {&wish.plan, &wish.works, &wish.address, &wish.date})
    if (const auto fit = fit_text(*words); !fit) return fit.error();
  draw::PaperText paper;
  const draw::PaperStamp stamp{wish.works, wish.date};
  const auto asked = record.read([&](Reader& reader) {
    switch (wish.kind) {
      case PaperKind::traveller:
        paper = traveller(reader, wish.code, stamp);
        break;
      case PaperKind::weigh_up:
        paper = weigh_up(reader, wish.code, stamp);
        break;
      case PaperKind::label_proof:
        paper = proof(reader, wish.code, stamp);
        break;
      case PaperKind::packing_list:
        paper = list_of(reader, wish.code, stamp);
        break;
      case PaperKind::certificate:
        paper = certificate(reader, wish, stamp);
        break;
      case PaperKind::consignment_note:
        paper = note_of(reader, wish, stamp);
        break;
    }
  });
  if (!asked) return asked.error();
  return paper;
}

}  // namespace goodside::line
