#include <fmt/format.h>

#include <map>
#include <ostream>

#include "cli/commands.hpp"
#include "cli/works_open.hpp"
#include "cli/wrap.hpp"
#include "line/instants.hpp"
#include "line/origin.hpp"
#include "line/read_fields.hpp"

namespace goodside::cli {
namespace {

using ledger::at;
using ledger::Row;
using ledger::text;
using ledger::whole;

std::string range(const works::Impressions& impressions) {
  return impressions.first == impressions.last
             ? fmt::format("{}", impressions.first)
             : fmt::format("{}–{}", impressions.first, impressions.last);
}

std::string spot_text(const works::Spot& spot) {
  std::string out{word(spot.place)};
  if (!spot.at.empty()) out += " " + spot.at;
  if (!spot.reason.empty()) out += " (" + spot.reason + ")";
  return out;
}

/// "  name      value", wrapped.
std::string pair_line(const std::string& name, const std::string& value) {
  constexpr std::size_t column = 18;
  const auto lines = wrapped(value, line_width - column);
  std::string out;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::string left = i == 0 ? "  " + name : "";
    out += left + std::string(column - std::min(column - 1, columns(left)), ' ') + lines[i] + "\n";
  }
  return out;
}

std::string labelled(const Row& row, const char* name = "name") {
  const std::string label = text(at(row, name));
  return text(at(row, "code")) + (label.empty() ? "" : " " + label);
}

std::string row_text(const works::Kind& kind, const Row& row) {
  std::string out = fmt::format("{} {}{}\n",
                                kind.name,
                                text(at(row, "code")),
                                whole(at(row, "void")) != 0 ? " (entered by mistake)" : "");
  for (const works::Field& field : kind.fields)
    if (const auto& value = at(row, field.name); !ledger::is_null(value))
      out += pair_line(std::string{field.name}, line::shown_cell(kind, field.name, value));
  for (const char* column : {"at_ms", "who", "note"})
    if (const auto& value = at(row, column); !ledger::is_null(value))
      out += pair_line(column == std::string_view{"at_ms"} ? "at" : column,
                       line::shown_cell(kind, column, value));
  return out;
}

/// What names this row, one line each: the steps of a part, the pressings of a run …
std::string children_text(ledger::Reader& reader,
                          const works::Kind& parent,
                          const std::string& code,
                          json::Node::Object& node) {
  std::string out;
  for (const works::Kind& kind : works::kinds())
    for (const works::Field& field : kind.fields) {
      if (field.refers_to != parent.table) continue;
      const auto rows = reader.where(kind.table, field.name, code);
      if (rows.empty()) continue;
      out += fmt::format("\n{} {} {}:\n",
                         rows.size(),
                         kind.name,
                         field.name == parent.name ? "" : "as " + std::string{field.name});
      json::Node::List list;
      for (const Row& row : rows) {
        list.push_back(as_node(kind, row));
        if (list.size() > 30) continue;
        std::string line = "  " + text(at(row, "code"));
        for (const works::Field& one : kind.fields)
          if (const auto& value = at(row, one.name);
              !ledger::is_null(value) && one.name != field.name)
            line += "  " + line::shown_cell(kind, one.name, value);
        if (!ledger::is_null(at(row, "at_ms")))
          line += "  " + line::shown_instant(whole(at(row, "at_ms")));
        out += clipped(line, line_width) + "\n";
      }
      if (rows.size() > 30)
        out += fmt::format("  … and {} more; --json has them all\n", rows.size() - 30);
      node.emplace_back(fmt::format("{}_{}", kind.table, field.name), std::move(list));
    }
  return out;
}

int show_list(const Args& args, Console& console, OpenWorks& works, const works::Kind& kind) {
  std::string out;
  json::Node::List list;
  const auto asked = works.desk.record.read([&](ledger::Reader& reader) {
    const auto rows = reader.connection().ask(
        fmt::format("SELECT code FROM {} ORDER BY at_ms DESC, code DESC LIMIT 200", kind.table));
    for (const auto& cells : rows) {
      const Row row = *reader.find(kind.table, cells[0]);
      list.push_back(as_node(kind, row));
      std::string line = "  " + text(at(row, "code"));
      for (const works::Field& field : kind.fields)
        if (const auto& value = at(row, field.name); !ledger::is_null(value))
          line += "  " + line::shown_cell(kind, field.name, value);
      out += clipped(line, line_width) + "\n";
    }
  });
  if (!asked) return console.refuse(asked.error());
  if (out.empty())
    out = fmt::format("no {} yet; `goodside works kinds {}`\n", kind.name, kind.name);
  return answer(args, console, out, std::move(list));
}

int run_show(const Args& args, Console& console) {
  return in_works(args, console, [&](OpenWorks& works) {
    const std::string& what = args.text("what");
    if (const auto kind = works::find_kind(what)) return show_list(args, console, works, **kind);
    const auto code = code_text(what);
    if (!code)
      return console.refuse(
          {Fault::bad_input,
           fmt::format(
               "\"{}\" is neither a code nor a noun ({})", what.substr(0, 40), code.error().text)});
    const auto found = line::find_thing(works.desk.record, *code);
    if (!found) return console.refuse(found.error());
    std::string out = row_text(*found->kind, found->row);
    json::Node node = as_node(*found->kind, found->row);
    auto& object = std::get<json::Node::Object>(node.value);
    const auto asked = works.desk.record.read(
        [&](ledger::Reader& reader) { out += children_text(reader, *found->kind, *code, object); });
    if (!asked) return console.refuse(asked.error());
    return answer(args, console, out, node);
  });
}

std::string family_line(const std::vector<Row>& line, const std::optional<Row>& cut) {
  std::string out;
  for (const Row& row : line) {
    out += fmt::format(
        "{}{} {}", out.empty() ? "" : " ← ", text(at(row, "kind")), text(at(row, "code")));
    if (!ledger::is_null(at(row, "grown")))
      out += fmt::format(" (no. {})", whole(at(row, "grown")));
    if (text(at(row, "origin")) == "bought") out += " (bought)";
  }
  if (cut) out += " ← cut " + text(at(*cut, "code"));
  return out.empty() ? "nothing mounted" : out;
}

json::Node family_node(const std::vector<Row>& line) {
  json::Node::List list;
  for (const Row& row : line) list.push_back(as_node(works::kind_of_table("part"), row));
  return list;
}

/// "shellac  lot TH-17  8.1 kg": what was weighed in, and why where it was a correction.
std::string lot_text(const Row& lot) {
  std::string out = text(at(lot, "ingredient"));
  if (const std::string code = text(at(lot, "lot")); !code.empty()) out += "  lot " + code;
  if (const auto* weighed_kg = std::get_if<double>(&at(lot, "weighed_kg")))
    out += fmt::format("  {:.4g} kg", *weighed_kg);
  if (const auto* asked_kg = std::get_if<double>(&at(lot, "asked_kg")))
    out += fmt::format(" of {:.4g} asked", *asked_kg);
  if (const std::string note = text(at(lot, "note")); !note.empty()) out += ", " + note;
  return out;
}

/// The cycle's own figures under its name.
std::string recipe_text(const Row& recipe) {
  std::string out = labelled(recipe);
  const works::Kind& kind = works::kind_of_table("recipe");
  for (const works::Field& field : kind.fields)
    if (const auto& value = at(recipe, field.name); std::holds_alternative<double>(value))
      out += fmt::format(", {} {}", field.name, line::shown_cell(kind, field.name, value));
  if (const std::string note = text(at(recipe, "note")); !note.empty()) out += "; " + note;
  return out;
}

std::string biscuit_text(const Row& biscuit) {
  std::string out = text(at(biscuit, "code"));
  if (const auto* mass_kg = std::get_if<double>(&at(biscuit, "mass_kg")))
    out += fmt::format("  {:.1f} g", 1e3 * *mass_kg);
  if (const std::string note = text(at(biscuit, "note")); !note.empty()) out += "  " + note;
  return out;
}

std::string origin_text(const line::Origin& origin) {
  std::string out = fmt::format("disc {} of {}\n", origin.impression, text(at(origin.run, "code")));
  out += pair_line("title", labelled(origin.title));
  out += pair_line("order",
                   text(at(origin.order, "code")) + "  " + text(at(origin.order, "customer")));
  out += pair_line("side A", family_line(origin.side_a, origin.cut_a));
  out += pair_line("side B", family_line(origin.side_b, origin.cut_b));
  if (!origin.side_a.empty() || !origin.side_b.empty())
    out += pair_line("closings before", fmt::format("A {}, B {}", origin.age_a, origin.age_b));
  out += pair_line("mounting",
                   origin.mounting && origin.press
                       ? text(at(*origin.mounting, "code")) + " on " + labelled(*origin.press)
                       : "not entered");
  out += pair_line("pressing",
                   fmt::format("{} (impressions {}–{}), {}",
                               text(at(origin.pressing, "code")),
                               whole(at(origin.pressing, "first")),
                               whole(at(origin.pressing, "last")),
                               line::shown_instant(whole(at(origin.pressing, "at_ms")))));
  if (origin.of_title)
    out += pair_line("of the title", fmt::format("impression {}", *origin.of_title));
  out += pair_line("recipe", origin.recipe ? recipe_text(*origin.recipe) : "not entered");
  out += pair_line("batch", origin.batch ? labelled(*origin.batch, "material") : "not entered");
  for (const Row& lot : origin.lots) out += pair_line("  weighed in", lot_text(lot));
  for (const Row& biscuit : origin.biscuits) out += pair_line("  biscuits", biscuit_text(biscuit));
  for (const Row& ticket : origin.tickets)
    out += pair_line("ticket",
                     fmt::format("{} ({}–{}), {}",
                                 text(at(ticket, "code")),
                                 whole(at(ticket, "first")),
                                 whole(at(ticket, "last")),
                                 text(at(ticket, "heard"))));
  const bool sure = origin.now.size() == 1;
  for (const works::Holding& holding : origin.now)
    out += pair_line(
        sure ? "now" : "now, one of",
        fmt::format(
            "{}, {} of {}", spot_text(holding.spot), holding.quantity, range(holding.impressions)));
  return out;
}

json::Node origin_node(const line::Origin& origin) {
  using works::kind_of_table;
  json::Node::Object object{
      {"impression", origin.impression},
      {"title_impression", origin.of_title ? json::Node{*origin.of_title} : json::Node{}},
      {"run", as_node(kind_of_table("run"), origin.run)},
      {"order", as_node(kind_of_table("orders"), origin.order)},
      {"title", as_node(kind_of_table("title"), origin.title)},
      {"pressing", as_node(kind_of_table("pressing"), origin.pressing)},
      {"side_a", family_node(origin.side_a)},
      {"side_b", family_node(origin.side_b)},
      {"age_a", origin.age_a},
      {"age_b", origin.age_b}};
  if (origin.mounting)
    object.emplace_back("mounting", as_node(kind_of_table("mounting"), *origin.mounting));
  if (origin.press) object.emplace_back("press", as_node(kind_of_table("press"), *origin.press));
  if (origin.recipe)
    object.emplace_back("recipe", as_node(kind_of_table("recipe"), *origin.recipe));
  if (origin.batch) object.emplace_back("batch", as_node(kind_of_table("batch"), *origin.batch));
  json::Node::List lots, biscuits, tickets, now;
  for (const Row& row : origin.biscuits) biscuits.push_back(as_node(kind_of_table("biscuit"), row));
  for (const Row& row : origin.lots) lots.push_back(as_node(kind_of_table("weighing"), row));
  for (const Row& row : origin.tickets) tickets.push_back(as_node(kind_of_table("ticket"), row));
  for (const works::Holding& holding : origin.now) now.push_back(as_node(holding));
  object.emplace_back("lots", std::move(lots));
  object.emplace_back("biscuits", std::move(biscuits));
  object.emplace_back("tickets", std::move(tickets));
  object.emplace_back("now", std::move(now));
  return object;
}

int run_from(const Args& args, Console& console) {
  const auto code = args.read("run", code_text);
  const auto n = args.maybe("impression", count_number);
  if (!code) return console.refuse(code.error());
  if (!n) return console.refuse(n.error());
  return in_works(args, console, [&](OpenWorks& works) {
    std::string run = *code;
    std::int64_t impression = n->value_or(0);
    if (!*n) {  // a sample ticket knows its run and disc
      const auto found = line::find_thing(works.desk.record, *code);
      if (!found) return console.refuse(found.error());
      if (found->kind->table != "ticket")
        return console.refuse(
            {Fault::bad_input, "give a run and the disc's impression, or a ticket"});
      run = text(at(found->row, "run"));
      impression = whole(at(found->row, "first"));
    }
    const auto origin = line::origin_of(works.desk.record, run, impression);
    if (!origin) return console.refuse(origin.error());
    return answer(args, console, origin_text(*origin), origin_node(*origin));
  });
}

int run_where(const Args& args, Console& console) {
  const auto code = args.read("code", code_text);
  if (!code) return console.refuse(code.error());
  return in_works(args, console, [&](OpenWorks& works) {
    const auto found = line::whereabouts(works.desk.record, *code);
    if (!found) return console.refuse(found.error());
    std::map<std::string, std::pair<std::int64_t, bool>> places;
    json::Node::List list;
    std::string details;
    for (const line::Stock& stock : found->stock) {
      auto& [quantity, sure] =
          places.try_emplace(std::string{word(stock.holding.spot.place)}, 0, true).first->second;
      quantity += stock.holding.quantity;
      sure = sure && stock.sure;
      json::Node node = as_node(stock.holding);
      auto& object = std::get<json::Node::Object>(node.value);
      object.emplace_back("run", stock.run);
      object.emplace_back("sure", stock.sure);
      if (list.size() < 40)
        details += clipped(fmt::format("  {:>7}{} of {:>15}  {}  {}",
                                       stock.holding.quantity,
                                       stock.sure ? " " : "?",
                                       range(stock.holding.impressions),
                                       stock.run,
                                       spot_text(stock.holding.spot)),
                           line_width) +
                   "\n";
      list.push_back(std::move(node));
    }
    std::string out = fmt::format("{}: {} discs\n", *code, found->impressions);
    if (found->parts.size() > 1) {
      out += "with ";
      for (std::size_t i = 1; i < found->parts.size(); ++i)
        out += (i > 1 ? ", " : "") + text(at(found->parts[i], "code"));
      out += ", which grew from it\n";
    }
    json::Node::Object totals;
    for (const auto& [place, sum] : places) {
      out += fmt::format("  {:>9} {}{}\n",
                         sum.first,
                         place,
                         sum.second ? "" : " (at most: some are known only by a wider range)");
      totals.emplace_back(place, sum.first);
    }
    if (!details.empty()) out += "\n" + details;
    if (list.size() > 40)
      out += fmt::format("  … and {} more; --json has them all\n", list.size() - 40);
    return answer(args,
                  console,
                  out,
                  json::Node::Object{{"of", *code},
                                     {"impressions", found->impressions},
                                     {"parts", family_node(found->parts)},
                                     {"places", std::move(totals)},
                                     {"stock", std::move(list)}});
  });
}

int run_events(const Args& args, Console& console) {
  const auto count = args.read("--count", count_number);
  if (!count) return console.refuse(count.error());
  std::string subject;
  if (args.given("code")) {
    auto code = args.read("code", code_text);
    if (!code) return console.refuse(code.error());
    subject = std::move(*code);
  }
  return in_works(args, console, [&](OpenWorks& works) {
    std::string out;
    json::Node::List list;
    const auto asked = works.desk.record.read([&](ledger::Reader& reader) {
      for (const ledger::Event& event :
           ledger::newest_events(reader.connection(), subject, *count)) {
        out += clipped(fmt::format(
                           "{:>7}  {}  {:<12} {:<16} {}{}",
                           event.seq,
                           line::shown_instant(event.at_ms),
                           event.who,
                           event.what,
                           event.subject,
                           event.reverses ? fmt::format(" (takes back {})", *event.reverses) : ""),
                       line_width) +
               "\n";
        list.push_back(json::Node::Object{
            {"seq", event.seq},
            {"at_ms", event.at_ms},
            {"who", event.who},
            {"what", event.what},
            {"subject", event.subject},
            {"reverses", event.reverses ? json::Node{*event.reverses} : json::Node{}},
            {"body", event.body},
            {"previous", event.previous},
            {"hash", event.hash}});
      }
    });
    if (!asked) return console.refuse(asked.error());
    return answer(args, console, out.empty() ? "no entries\n" : out, std::move(list));
  });
}

}  // namespace

std::vector<Command> works_ask_commands() {
  return {
      {.name = "works show",
       .help = "A thing with all that names it, or the list of a noun.",
       .example = "goodside works show P-00004-K\ngoodside works show carton",
       .options = with_works_options({{.name = "what",
                                       .value = "CODE|KIND",
                                       .help = "A code, or a noun such as run.",
                                       .required = true}}),
       .run = run_show},
      {.name = "works from",
       .help = "Where did this disc come from?",
       .example = "goodside works from R-00001-9 250\n\ndisc 250 of R-00001-9\n  side A          "
                  "stamper P-00004-K (no. 1) ← mother P-00003-M …",
       .options = with_works_options(
           {{.name = "run",
             .value = "RUN|TICKET",
             .help = "The run, or the disc's sample ticket.",
             .required = true},
            {.name = "impression", .value = "N", .help = "Which disc of the run."}}),
       .run = run_from},
      {.name = "works where",
       .help = "Where are the discs of this part, batch, run, order, carton … now?",
       .example = "goodside works where P-00004-K\n\nP-00004-K: 500 discs\n        480 good "
                  "stock\n         20 scrap",
       .options = with_works_options(
           {{.name = "code",
             .value = "CODE",
             .help =
                 "Of a part, mounting, batch, run, order, title, press, carton, spindle, shipment.",
             .required = true}}),
       .run = run_where},
      {.name = "works events",
       .help = "The log: who entered what, newest first.",
       .example = "goodside works events R-00001-9 --count 3",
       .options = with_works_options(
           {{.name = "code", .value = "CODE", .help = "Only entries about this; without it all."},
            {.name = "--count", .value = "N", .help = "So many.", .fallback = "20"}}),
       .run = run_events},
  };
}

}  // namespace goodside::cli
