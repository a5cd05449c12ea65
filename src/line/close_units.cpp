#include "line/close_units.hpp"

#include <fmt/format.h>

#include "dispatch/gs1.hpp"
#include "line/move_discs.hpp"
#include "line/read_fields.hpp"
#include "works/code.hpp"

namespace goodside::line {
namespace {

using ledger::at;
using ledger::or_refuse;
using ledger::Reader;
using ledger::refuse;
using ledger::Row;
using ledger::text;
using ledger::whole;
using ledger::Writer;

void put(Row& row, const char* column, ledger::Value value) {
  row.insert_or_assign(column, std::move(value));
}

/// An open unit of its table; refused otherwise.
Row need_open(Writer& writer, const char* table, const std::string& code) {
  Row row = writer.need(table, code);
  if (const std::string state = text(at(row, "state")); state != "open" && !state.empty())
    refuse(Fault::conflict, fmt::format("{} {} is {}", table, code, state));
  return row;
}

void void_labels(Writer& writer, const char* table, const std::string& code) {
  for (Row& label : writer.standing("label", table, code)) {
    put(label, "void", std::int64_t{1});
    writer.alter("label", label);
  }
}

/// Numbers are those of the labels, which are never taken twice.
std::string give_number(Writer& writer,
                        const char* table,
                        const std::string& code,
                        const std::string& prefix) {
  if (prefix.empty()) return {};
  const std::string label = writer.add(works::kind_of_table("label"), {{table, code}});
  Row row = writer.need("label", label);
  const auto counter = writer.find("counter", std::string{"label"});
  const std::string sscc =
      or_refuse(dispatch::make_sscc(prefix, counter ? whole(at(*counter, "last")) : 1));
  put(row, "sscc", sscc);
  writer.alter("label", row);
  return sscc;
}

void check_count(const Row& carton, const Closing& closing, std::int64_t there) {
  const std::int64_t capacity = whole(at(carton, "capacity"));
  if (there != closing.counted)
    refuse(
        Fault::conflict,
        fmt::format("{} discs were counted in {}, and the ledger has {}; count again, or enter a "
                    "recount first",
                    closing.counted,
                    closing.unit,
                    there));
  if (there == 0)
    refuse(Fault::conflict,
           fmt::format("carton {} is empty; nothing is to be closed", closing.unit));
  if (there < capacity && !closing.part)
    refuse(Fault::conflict,
           fmt::format(
               "carton {} holds {} of {} discs; fill it, or say --part where it is meant to be a "
               "part carton",
               closing.unit,
               there,
               capacity));
  if (closing.weighed_kg && closing.lifting_limit_kg &&
      *closing.weighed_kg > *closing.lifting_limit_kg)
    refuse(
        Fault::conflict,
        fmt::format("carton {} weighs {:.2f} kg, and {:.2f} kg may be lifted here; take discs out",
                    closing.unit,
                    *closing.weighed_kg,
                    *closing.lifting_limit_kg));
}

Closed close_carton(Writer& writer, const Closing& closing) {
  Row carton = need_open(writer, "carton", closing.unit);
  if (const auto held = discs_at(writer, closing.unit, works::Place::suspect); held > 0)
    refuse(
        Fault::conflict,
        fmt::format(
            "carton {} holds {} suspect discs; release them or take them out", closing.unit, held));
  Closed closed;
  closed.discs = discs_at(writer, closing.unit);
  closed.cartons = 1;
  check_count(carton, closing, closed.discs);
  put(carton, "state", std::string{"closed"});
  if (closing.weighed_kg) put(carton, "gross_kg", *closing.weighed_kg);
  writer.alter("carton", carton);
  closed.sscc = give_number(writer, "carton", closing.unit, closing.company_prefix);
  return closed;
}

Closed close_pallet(Writer& writer, const Closing& closing) {
  Row pallet = need_open(writer, "pallet", closing.unit);
  Closed closed;
  for (const Row& carton : writer.standing("carton", "pallet", closing.unit)) {
    const std::string code = text(at(carton, "code"));
    if (text(at(carton, "state")) != "closed")
      refuse(Fault::conflict,
             fmt::format("carton {} on pallet {} is {}; close it first, or take it off",
                         code,
                         closing.unit,
                         text(at(carton, "state"))));
    ++closed.cartons;
    closed.discs += discs_at(writer, code);
  }
  if (closed.cartons != closing.counted)
    refuse(Fault::conflict,
           fmt::format("{} cartons were counted on {}, and the record has {}; count again",
                       closing.counted,
                       closing.unit,
                       closed.cartons));
  if (closed.cartons == 0)
    refuse(Fault::conflict,
           fmt::format("pallet {} is empty; nothing is to be closed", closing.unit));
  put(pallet, "state", std::string{"closed"});
  writer.alter("pallet", pallet);
  closed.sscc = give_number(writer, "pallet", closing.unit, closing.company_prefix);
  return closed;
}

bool is_pallet(Reader& reader, const std::string& code) {
  if (reader.find("carton", code)) return false;
  if (reader.find("pallet", code)) return true;
  refuse(Fault::not_found, fmt::format("there is no carton or pallet {}", code));
}

}  // namespace

Result<Closed> close_unit(const Desk& desk, const Closing& closing) {
  Closed closed;
  const auto head = desk.record.write(desk.act("close", closing.unit), [&](Writer& writer) {
    closed = is_pallet(writer, closing.unit) ? close_pallet(writer, closing)
                                             : close_carton(writer, closing);
  });
  if (!head) return head.error();
  closed.head = *head;
  return closed;
}

void open_pallet_within(Writer& writer, const std::string& code) {
  Row pallet = writer.need("pallet", code);
  if (text(at(pallet, "state")) != "closed") return;
  put(pallet, "state", std::string{"open"});
  writer.alter("pallet", pallet);
  void_labels(writer, "pallet", code);
}

void open_within(Writer& writer, const std::string& code) {
  Row carton = writer.need("carton", code);
  if (const std::string pallet = text(at(carton, "pallet")); !pallet.empty())
    open_pallet_within(writer, pallet);
  if (text(at(carton, "state")) != "closed") return;
  put(carton, "state", std::string{"open"});
  carton.erase("gross_kg");
  writer.alter("carton", carton);
  void_labels(writer, "carton", code);
}

Result<ledger::Head> open_unit(const Desk& desk,
                               const std::string& unit,
                               const std::string& reason) {
  if (reason.empty()) return Error{Fault::bad_input, "say why it is opened; give --reason \"…\""};
  if (const auto fit = fit_text(reason); !fit) return fit.error();
  return desk.record.write(desk.act("open: " + reason, unit), [&](Writer& writer) {
    const bool pallet = is_pallet(writer, unit);
    const std::string state = text(at(writer.need(pallet ? "pallet" : "carton", unit), "state"));
    if (state != "closed")
      refuse(Fault::conflict, fmt::format("{} is {}; only what is closed is opened", unit, state));
    pallet ? open_pallet_within(writer, unit) : open_within(writer, unit);
  });
}

std::string sscc_of(Reader& reader, const char* table, const std::string& unit) {
  const auto labels = reader.standing("label", table, unit);
  return labels.empty() ? std::string{} : text(at(labels.back(), "sscc"));
}

std::optional<std::string> unit_by_sscc(Reader& reader, std::string_view typed) {
  const auto sscc = dispatch::read_sscc(typed);
  if (!sscc) return std::nullopt;
  const auto labels = reader.standing("label", "sscc", *sscc);
  if (labels.empty()) return std::nullopt;
  const Row& label = labels.back();
  return text(at(label, ledger::is_null(at(label, "carton")) ? "pallet" : "carton"));
}

Result<std::string> unit_of(ledger::Record& record, const std::string& typed) {
  // One SSCC in 36 would pass for a code of the record as well.
  if (!dispatch::read_sscc(typed)) return works::read_code(typed);
  std::optional<std::string> unit;
  const auto asked = record.read([&](Reader& reader) { unit = unit_by_sscc(reader, typed); });
  if (!asked) return asked.error();
  if (unit) return *unit;
  return Error{Fault::not_found, fmt::format("no label of this record carries SSCC {}", typed)};
}

}  // namespace goodside::line
