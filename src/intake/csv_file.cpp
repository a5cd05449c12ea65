#include "intake/csv_file.hpp"

#include <fmt/format.h>

#include <set>

namespace goodside::intake {
namespace {

class Parser {
 public:
  Parser(std::string_view text, const std::string& name) : text_{text}, name_{name} {
    if (text_.starts_with("\xef\xbb\xbf")) text_.remove_prefix(3);
    const std::string_view first = text_.substr(0, text_.find('\n'));
    if (first.find(',') == std::string_view::npos && first.find(';') != std::string_view::npos)
      separator_ = ';';
  }

  Result<CsvTable> parse() {
    CsvTable table;
    while (!text_.empty()) {
      CsvTable::Line line{line_, {}};
      if (const auto taken = take_line(line.cells); !taken) return taken.error();
      if (line.cells.size() == 1 && line.cells[0].empty()) continue;
      if (table.columns.empty()) {
        table.columns = std::move(line.cells);
        std::set<std::string_view> met;
        for (const std::string& column : table.columns)
          if (column.empty() || !met.insert(column).second)
            return at(line.number,
                      column.empty() ? "a column has no name"
                                     : fmt::format("two columns are called {}", column));
        continue;
      }
      if (line.cells.size() != table.columns.size())
        return at(line.number,
                  fmt::format("{} cells, where the first line names {} columns; look for a "
                              "separator or quote too many or too few",
                              line.cells.size(),
                              table.columns.size()));
      table.lines.push_back(std::move(line));
    }
    if (table.columns.empty()) return at(1, "the first line names no columns");
    return table;
  }

 private:
  [[nodiscard]] Error at(std::size_t line, const std::string& what) const {
    return {Fault::bad_input, fmt::format("{}:{}: {}", name_, line, what)};
  }

  Outcome take_line(std::vector<std::string>& cells) {
    while (true) {
      std::string cell;
      if (!text_.empty() && text_.front() == '"') {
        if (const auto taken = take_quoted(cell); !taken) return taken.error();
      } else {
        const auto end = text_.find_first_of(std::string{separator_, '\n', '"'});
        if (end != std::string_view::npos && text_[end] == '"')
          return at(
              line_,
              "a quote inside a cell; put the whole cell in quotes and double the one inside");
        cell = text_.substr(0, end);
        text_.remove_prefix(cell.size());
        if (!cell.empty() && cell.back() == '\r') cell.pop_back();
      }
      cells.push_back(std::move(cell));
      if (text_.empty()) return Done{};
      const char next = text_.front();
      text_.remove_prefix(1);
      if (next == separator_) continue;
      ++line_;
      return Done{};
    }
  }

  Outcome take_quoted(std::string& cell) {
    const std::size_t begun = line_;
    text_.remove_prefix(1);
    while (true) {
      const auto end = text_.find('"');
      if (end == std::string_view::npos) return at(begun, "a quote is opened and never closed");
      for (const char letter : text_.substr(0, end)) line_ += letter == '\n' ? 1 : 0;
      cell += text_.substr(0, end);
      text_.remove_prefix(end + 1);
      if (text_.empty() || text_.front() != '"') break;
      cell += '"';
      text_.remove_prefix(1);
    }
    if (text_.starts_with("\r\n")) text_.remove_prefix(1);
    if (text_.empty() || text_.front() == separator_ || text_.front() == '\n') return Done{};
    return at(line_, "something stands behind a closing quote");
  }

  std::string_view text_;
  const std::string& name_;
  char separator_{','};
  std::size_t line_{1};
};

}  // namespace

Result<CsvTable> parse_csv(std::string_view text, const std::string& shown_name) {
  return Parser{text, shown_name}.parse();
}

std::string csv_line(const std::vector<std::string>& cells) {
  std::string line;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (i > 0) line += ',';
    if (cells[i].find_first_of(",;\"\r\n") == std::string::npos) {
      line += cells[i];
      continue;
    }
    line += '"';
    for (const char letter : cells[i]) line += letter == '"' ? "\"\"" : std::string(1, letter);
    line += '"';
  }
  return line + "\r\n";
}

}  // namespace goodside::intake
