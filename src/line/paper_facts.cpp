#include "line/paper_facts.hpp"

#include <fmt/format.h>

#include "line/instants.hpp"

namespace goodside::line {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

std::string title_text(Reader& reader, const std::string& title) {
  const auto row = reader.find("title", title);
  if (!row) return {};
  const std::string artist = text(at(*row, "artist"));
  return text(at(*row, "name")) + (artist.empty() ? "" : " · " + artist);
}

std::string title_of_order(Reader& reader, const std::string& order) {
  const auto row = reader.find("orders", order);
  return row ? title_text(reader, text(at(*row, "title"))) : std::string{};
}

std::string reading_text(const Row& reading) {
  const std::string name = text(at(reading, "name"));
  const auto& value = at(reading, "value");
  if (ledger::is_null(value)) return name + " " + text(at(reading, "said"));
  const double si = std::get<double>(value);
  const auto stem = [&](std::size_t unit) { return name.substr(0, name.size() - unit); };
  if (name.ends_with("_m")) return fmt::format("{} {:.4g} mm", stem(2), si * 1e3);
  if (name.ends_with("_K")) return fmt::format("{} {:.1f} °C", stem(2), si - 273.15);
  if (name.ends_with("_s")) return fmt::format("{} {:.6g} s", stem(2), si);
  if (name.ends_with("_kg")) return fmt::format("{} {:.5g} kg", stem(3), si);
  return fmt::format("{} {:.6g}", name, si);
}

void PaperFacts::add(const std::string& name, const std::string& value) {
  if (!value.empty()) pairs_.emplace_back(name, value);
}

void PaperFacts::quantity(const std::string& name,
                          const Row& row,
                          const char* column,
                          double scale,
                          const std::string& unit,
                          int decimals,
                          double shift) {
  if (const auto& value = at(row, column); !ledger::is_null(value))
    add(name, fmt::format("{:.{}f} {}", std::get<double>(value) * scale + shift, decimals, unit));
}

void PaperFacts::named(const std::string& name, const char* table, const std::string& code) {
  const auto row = reader_.find(table, code);
  if (!row) return;
  const std::string label = text(at(*row, "name"));
  add(name, code + (label.empty() ? "" : " " + label));
}

void PaperFacts::order(const std::string& code) {
  const auto row = reader_.find("orders", code);
  if (!row) return;
  add("order", code);
  add("customer", text(at(*row, "customer")));
  add("customer's number", text(at(*row, "customer_reference")));
  if (const auto title = reader_.find("title", text(at(*row, "title")))) {
    add("catalogue number", text(at(*title, "catalogue")));
    add("GTIN", text(at(*title, "gtin")));
  }
  add("ordered", fmt::format("{} discs", whole(at(*row, "quantity"))));
  add("format", text(at(*row, "format")));
  add("material", text(at(*row, "material")));
  if (!ledger::is_null(at(*row, "due_ms")))
    add("promised for", shown_day(whole(at(*row, "due_ms"))));
}

void PaperFacts::mounting_on(const std::string& press) {
  for (const Row& row : reader_.standing("mounting", "press", press)) {
    if (!ledger::is_null(at(row, "ended_ms")) || !ledger::is_null(at(row, "counter_to"))) continue;
    add("mounting", text(at(row, "code")));
    add("stamper A", text(at(row, "stamper_a")));
    add("stamper B", text(at(row, "stamper_b")));
  }
}

void PaperFacts::sides(const std::string& title) {
  for (const Row& side : reader_.standing("side", "title", title))
    add("side " + text(at(side, "letter")),
        text(at(side, "code")) +
            (text(at(side, "matrix")).empty() ? "" : ", matrix " + text(at(side, "matrix"))));
}

}  // namespace goodside::line
