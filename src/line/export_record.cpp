#include <fmt/format.h>

#include <filesystem>
#include <fstream>

#include "intake/csv_file.hpp"
#include "intake/safe_file.hpp"
#include "json/node.hpp"
#include "ledger/import.hpp"
#include "line/instants.hpp"
#include "line/keep_record.hpp"

namespace goodside::line {
namespace {

using json::Node;
using ledger::StoreFailure;

constexpr std::size_t block_bytes = std::size_t{1} << 20,
                      longest_line_bytes = std::size_t{64} << 20;
constexpr const char* schema = "goodside.record/1";

/// Text that goes to a file in blocks.
class Block {
 public:
  explicit Block(intake::SafeFile& file) : file_{file} {}
  void add(std::string_view text) {
    waiting_ += text;
    if (waiting_.size() >= block_bytes) flush();
  }
  void flush() {
    if (const auto written = file_.write(waiting_); !written)
      throw ledger::Refused{written.error()};
    waiting_.clear();
  }

 private:
  intake::SafeFile& file_;
  std::string waiting_;
};

Node value_node(const ledger::Value& value) {
  struct Convert {
    Node operator()(std::monostate) const { return {}; }
    Node operator()(std::int64_t number) const { return {number}; }
    Node operator()(double number) const { return {number}; }
    Node operator()(const std::string& text) const { return {text}; }
    Node operator()(const ledger::Bytes& bytes) const {
      std::string digits;
      for (const std::byte byte : bytes)
        digits += fmt::format("{:02x}", static_cast<unsigned>(byte));
      return Node::Object{{"hex", digits}};
    }
  };
  return std::visit(Convert{}, value);
}

Node event_node(const ledger::Event& event) {
  Node::List rows;
  for (const ledger::Change& change : ledger::read_body(event.body)) {
    Node::Object values;
    for (const auto& [column, value] : change.row) values.emplace_back(column, value_node(value));
    rows.push_back(
        Node::Object{{"table", change.table}, {"was", change.was}, {"values", std::move(values)}});
  }
  return Node::Object{{"seq", event.seq},
                      {"at_ms", event.at_ms},
                      {"who", event.who},
                      {"what", event.what},
                      {"subject", event.subject},
                      {"reverses", event.reverses ? Node{*event.reverses} : Node{}},
                      {"rows", std::move(rows)},
                      {"hash", event.hash}};
}

[[noreturn]] void wrong(const std::string& what) {
  throw ledger::Refused{{Fault::bad_input, what}};
}

template <class T>
const T& need(const Node& node, std::string_view key) {
  const Node* const member = node.find(key);
  const T* const value = member == nullptr ? nullptr : std::get_if<T>(&member->value);
  if (value == nullptr) wrong(fmt::format("\"{}\" is missing or of another type", key));
  return *value;
}

ledger::Value read_value(const Node& node) {
  struct Convert {
    ledger::Value operator()(std::monostate) const { return {}; }
    ledger::Value operator()(bool) const { wrong("true and false are no values of a record"); }
    ledger::Value operator()(std::int64_t number) const { return number; }
    ledger::Value operator()(double number) const { return number; }
    ledger::Value operator()(const std::string& text) const { return text; }
    ledger::Value operator()(const Node::List&) const { wrong("a list is no value of a record"); }
    ledger::Value operator()(const Node::Object& object) const {
      const std::string& digits = need<std::string>(Node{object}, "hex");
      ledger::Bytes bytes;
      for (std::size_t i = 0; i + 1 < digits.size(); i += 2)
        bytes.push_back(static_cast<std::byte>(std::stoi(digits.substr(i, 2), nullptr, 16)));
      return bytes;
    }
  };
  return std::visit(Convert{}, node.value);
}

ledger::Event read_event(const Node& node, const std::string& previous) {
  ledger::Event event{.seq = need<std::int64_t>(node, "seq"),
                      .at_ms = need<std::int64_t>(node, "at_ms"),
                      .who = need<std::string>(node, "who"),
                      .what = need<std::string>(node, "what"),
                      .subject = need<std::string>(node, "subject")};
  if (const Node* reverses = node.find("reverses"); reverses != nullptr && *reverses != Node{})
    event.reverses = need<std::int64_t>(node, "reverses");
  std::vector<ledger::Change> changes;
  for (const Node& row : need<Node::List>(node, "rows")) {
    ledger::Change change{need<std::string>(row, "table"), {}, need<std::int64_t>(row, "was")};
    for (const auto& [column, value] : need<Node::Object>(row, "values"))
      change.row[column] = read_value(value);
    changes.push_back(std::move(change));
  }
  event.body = ledger::write_body(changes);
  event.previous = previous;
  event.hash = need<std::string>(node, "hash");
  return event;
}

std::string csv_cell(std::string_view column, const ledger::Value& value) {
  if (ledger::is_null(value)) return "";
  if (const auto* number = std::get_if<std::int64_t>(&value))
    return column.ends_with("_ms") ? utc_instant(*number) : fmt::format("{}", *number);
  if (const auto* number = std::get_if<double>(&value)) return fmt::format("{}", *number);
  if (const auto* text = std::get_if<std::string>(&value)) return *text;
  return "";
}

void export_table(ledger::Reader& reader,
                  const std::string& folder,
                  const std::string& table,
                  const std::vector<std::string>& columns) {
  auto file = intake::SafeFile::create(folder + "/" + table + ".csv");
  if (!file) throw ledger::Refused{file.error()};
  Block block{*file};
  block.add(intake::csv_line(columns));
  std::string names;
  for (const std::string& column : columns)
    names += fmt::format("{}\"{}\"", names.empty() ? "" : ", ", column);
  reader.connection().each(fmt::format("SELECT {} FROM {} ORDER BY 1, 2, 3", names, table),
                           {},
                           [&](const ledger::Values& values) {
                             std::vector<std::string> cells;
                             for (std::size_t i = 0; i < values.size(); ++i)
                               cells.push_back(csv_cell(columns[i], values[i]));
                             block.add(intake::csv_line(cells));
                           });
  block.flush();
  if (const auto done = file->commit(); !done) throw ledger::Refused{done.error()};
}

}  // namespace

Result<ledger::Head> export_lines(ledger::Record& record, const std::string& path) {
  auto file = intake::SafeFile::create(path);
  if (!file) return file.error();
  ledger::Head head;
  const auto done = record.read([&](ledger::Reader& reader) {
    head = ledger::head_of(reader.connection());
    Block block{*file};
    block.add(json::one_line(
                  Node::Object{{"schema", schema}, {"entries", head.seq}, {"head", head.hash}}) +
              "\n");
    ledger::each_event(reader.connection(), 1, [&](const ledger::Event& event) {
      block.add(json::one_line(event_node(event)) + "\n");
    });
    block.flush();
  });
  if (!done) return done.error();
  if (const auto kept = file->commit(); !kept) return kept.error();
  return head;
}

Outcome export_tables(ledger::Record& record, const std::string& folder) {
  std::error_code problem;
  std::filesystem::create_directories(folder, problem);
  if (problem)
    return Error{Fault::io, fmt::format("{} cannot be made ({})", folder, problem.message())};
  return record.read([&](ledger::Reader& reader) {
    for (const ledger::Shape& shape : ledger::shapes())
      export_table(reader, folder, shape.table, shape.columns);
    export_table(reader,
                 folder,
                 "holding",
                 {"run", "first", "last", "place", "at", "reason", "came_from", "quantity"});
  });
}

Result<ledger::Head> import_lines(ledger::Record& record, const std::string& path) {
  std::ifstream file{path, std::ios::binary};
  if (!file) return Error{Fault::not_found, path + ": cannot be opened; check the name"};
  ledger::Connection& connection = record.connection();
  std::size_t number = 0;
  const auto at_line = [&](const std::string& what) {
    return fmt::format("{}:{}: {}", path, number, what);
  };
  try {
    connection.begin_write();
    ledger::Importer importer{connection};
    ledger::Head promised, last;
    for (std::string line; std::getline(file, line);) {
      ++number;
      const auto node = json::read_node(line, longest_line_bytes, "the line");
      if (!node) wrong(node.error().text);
      if (number == 1) {
        if (need<std::string>(*node, "schema") != schema) wrong("it is no record of this program");
        promised = {need<std::int64_t>(*node, "entries"), need<std::string>(*node, "head")};
        continue;
      }
      const ledger::Event event = read_event(*node, last.hash);
      importer.take(event);
      last = {event.seq, event.hash};
    }
    if (number == 0) wrong("the file is empty");
    if (last != promised)
      wrong(fmt::format(
          "it ends with entry {}, and its first line promises {}; the file was cut short",
          last.seq,
          promised.seq));
    const ledger::Head head = importer.finish();
    connection.commit();
    return head;
  } catch (const ledger::Refused& refused) {
    connection.roll_back();
    return Error{refused.error.fault, at_line(refused.error.text)};
  } catch (const StoreFailure& failure) {
    connection.roll_back();
    const Error error = ledger::told(failure);
    return Error{error.fault, at_line(error.text)};
  } catch (...) {
    connection.roll_back();
    throw;
  }
}

}  // namespace goodside::line
