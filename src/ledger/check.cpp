#include "ledger/check.hpp"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cstring>
#include <map>
#include <set>
#include <unordered_map>

#include "base/sha256.hpp"
#include "ledger/record.hpp"

namespace goodside::ledger {
namespace {

constexpr std::int64_t entries_a_page = 100, rows_a_page = 20000;

struct Seen {
  std::array<std::uint64_t, 2> digest{};
  std::int64_t event{};
  bool met{};
};

class Checker {
 public:
  Checker(Connection& connection, const CheckOptions& options)
      : connection_{connection}, reader_{connection}, options_{options} {}

  Checked check() {
    checked_.head = head_of(connection_);
    first_ = first_entry();
    look_for_known_head();
    walk_the_log();
    if (first_ == 1) {
      compare_tables();
      compare_rest_of_movements();
      each_run([&](const std::string& run) { check_run(run); });
    } else {
      compare_touched_rows();
      for (const std::string& run : touched_runs_) check_run(run);
    }
    for (const auto& [place, discs] : places_) checked_.places.emplace_back(place, discs);
    return std::move(checked_);
  }

 private:
  template <class... Parts>
  void broken(fmt::format_string<Parts...> text, Parts&&... parts) {
    if (checked_.breaks.size() < options_.most_breaks)
      checked_.breaks.push_back(fmt::format(text, std::forward<Parts>(parts)...));
    else
      ++checked_.more_breaks;
  }

  std::int64_t first_entry() {
    if (!options_.since_ms) return 1;
    const auto rows =
        connection_.ask("SELECT min(seq) FROM event WHERE at_ms >= $1", {*options_.since_ms});
    return is_null(rows[0][0]) ? checked_.head.seq + 1 : whole(rows[0][0]);
  }

  void look_for_known_head() {
    if (!options_.known_head) return;
    const auto& [seq, hash] = *options_.known_head;
    const auto event = event_of(connection_, seq);
    if (!event)
      broken("entry {} was there when its head was noted and is gone: the log's tail was cut", seq);
    else if (event->hash != hash)
      broken("entry {} is another than when its head was noted", seq);
  }

  void walk_the_log() {
    Head last;
    if (first_ > 1) {
      last.seq = first_ - 1;
      if (const auto before = event_of(connection_, last.seq)) last.hash = hash_of(*before);
    }
    std::int64_t next = first_;
    while (true) {
      const std::vector<Event> page = events_from(connection_, next, entries_a_page);
      if (page.empty()) break;
      for (const Event& event : page) {
        check_link(last, event);
        take_body(event);
        last = {event.seq, event.hash};
        ++checked_.entries;
      }
      next = last.seq + 1;
      if (options_.progress)
        options_.progress(0.5 * static_cast<double>(next - first_) /
                          static_cast<double>(checked_.head.seq + 1 - first_));
    }
  }

  void check_link(const Head& last, const Event& event) {
    if (event.seq == last.seq + 2) broken("entry {} is missing", last.seq + 1);
    if (event.seq > last.seq + 2)
      broken("entries {} to {} are missing", last.seq + 1, event.seq - 1);
    if (event.seq == last.seq + 1 && event.previous != last.hash)
      broken("entry {} does not follow the entry before it", event.seq);
    if (hash_of(event) != event.hash)
      broken("entry {} is not what was written: its hash differs", event.seq);
  }

  void take_body(const Event& event) {
    std::string_view rest = event.body;
    try {
      while (!rest.empty()) take(take_line(rest), event.seq);
    } catch (const StoreFailure& failure) {
      broken("entry {}: {}", event.seq, failure.what());
    }
  }

  void take(const BodyLine& line, std::int64_t seq) {
    const Shape* const shape = find_shape(line.table);
    if (shape == nullptr)
      return broken("entry {} writes to {}, which this program does not know", seq, line.table);
    if (line.table == "movement") return compare_movement(line, seq);
    const std::string key{line.cell(shape->key())};
    Seen& seen = seen_[shape][key];
    if (first_ == 1 && seen.event != line.was)
      broken("entry {} follows entry {} on {} {}, but the log says {}",
             seq,
             line.was,
             line.table,
             key,
             seen.event);
    seen.digest = digest_of(line.cells, seq);
    seen.event = seq;
  }

  std::array<std::uint64_t, 2> digest_of(std::string_view cells, std::int64_t event) {
    hash_.take(cells);
    hash_.take({reinterpret_cast<const char*>(&event), sizeof event});
    const auto digest = hash_.finish();
    std::array<std::uint64_t, 2> short_digest{};
    std::memcpy(short_digest.data(), digest.data(), sizeof short_digest);
    return short_digest;
  }

  /// A movement as its table keeps it: the text that its entry must hold.
  struct KeptMovement {
    std::int64_t id{}, event{};
    std::string cells;
  };

  /// Movements are only ever added, in the order of the log: both are walked side by side.
  void compare_movement(const BodyLine& line, std::int64_t seq) {
    ++checked_.movements;
    const std::int64_t id = whole_in(line.cell("id"));
    if (first_ > 1) touched_runs_.insert(std::string{line.cell("run")});
    while (const KeptMovement* const kept = next_movement()) {
      if (kept->id > id) break;
      ++at_movement_;
      if (kept->id < id) {
        broken("movement {} is in no entry of the log", kept->id);
        continue;
      }
      if (kept->cells != line.cells || kept->event != seq)
        broken("movement {} is not what entry {} wrote", id, seq);
      return;
    }
    broken("movement {} of entry {} is missing", id, seq);
  }

  static std::int64_t whole_in(std::string_view digits) {
    std::int64_t value = 0;
    std::from_chars(digits.data(), digits.data() + digits.size(), value);
    return value;
  }

  const KeptMovement* next_movement() {
    if (at_movement_ < movements_.size()) return &movements_[at_movement_];
    if (all_movements_read_) return nullptr;
    movements_.clear();
    at_movement_ = 0;
    const Shape& shape = *find_shape("movement");
    connection_.each(fmt::format("SELECT {} FROM movement WHERE id > $1 ORDER BY id LIMIT $2",
                                 columns_of(shape)),
                     {last_movement_ < 0 ? first_ * 65536 - 1 : last_movement_, rows_a_page},
                     [&](const Values& values) {
                       KeptMovement& kept = movements_.emplace_back();
                       kept.id = last_movement_ = whole(values.front());
                       kept.event = whole(values.back());
                       write_cells(shape, values, kept.cells);
                     });
    all_movements_read_ = movements_.empty();
    return movements_.empty() ? nullptr : &movements_[0];
  }

  static std::string columns_of(const Shape& shape) {
    std::string columns;
    for (const std::string& column : shape.columns)
      columns += fmt::format("{}\"{}\"", columns.empty() ? "" : ", ", column);
    return columns;
  }

  static std::string key_text(const Value& key) {
    if (const auto* words = std::get_if<std::string>(&key)) return *words;
    return fmt::format("{}", whole(key));
  }

  void compare_rest_of_movements() {
    for (; const KeptMovement* const kept = next_movement(); ++at_movement_)
      broken("movement {} is in no entry of the log", kept->id);
  }

  void compare_row(const Shape& shape, const Values& values, Seen* seen) {
    ++checked_.rows;
    const std::string key = key_text(values.front());
    if (seen == nullptr) return broken("{} {} is in no entry of the log", shape.table, key);
    seen->met = true;
    line_.clear();
    write_cells(shape, values, line_);
    if (digest_of(line_, whole(values.back())) != seen->digest)
      broken("{} {} is not what entry {} wrote", shape.table, key, seen->event);
  }

  void compare_tables() {
    for (const Shape& shape : shapes()) {
      if (shape.table == "movement") continue;
      auto& seen = seen_[&shape];
      connection_.each(fmt::format("SELECT {} FROM {}", columns_of(shape), shape.table),
                       {},
                       [&](const Values& values) {
                         const auto known = seen.find(key_text(values.front()));
                         compare_row(shape, values, known == seen.end() ? nullptr : &known->second);
                       });
      for (const auto& [key, row] : seen)
        if (!row.met) broken("{} {} of entry {} is missing", shape.table, key, row.event);
      seen.clear();
    }
  }

  void compare_touched_rows() {
    for (auto& [shape, rows] : seen_)
      for (auto& [key, seen] : rows) {
        const auto kept = connection_.ask(fmt::format("SELECT {} FROM {} WHERE \"{}\" = $1",
                                                      columns_of(*shape),
                                                      shape->table,
                                                      shape->key()),
                                          {key});
        if (kept.empty())
          broken("{} {} of entry {} is missing", shape->table, key, seen.event);
        else
          compare_row(*shape, kept[0], &seen);
      }
  }

  void each_run(const std::function<void(const std::string&)>& take) {
    std::string last;
    const auto total = whole(connection_.ask("SELECT count(*) FROM run")[0][0], 1);
    while (true) {
      const auto page =
          connection_.ask("SELECT code FROM run WHERE code > $1 ORDER BY code LIMIT 1000", {last});
      if (page.empty()) break;
      for (const Values& row : page) take(text(row[0]));
      last = text(page.back()[0]);
      if (options_.progress)
        options_.progress(0.5 +
                          0.5 * static_cast<double>(checked_.runs) / static_cast<double>(total));
    }
    for (const Values& row : connection_.ask(
             "SELECT DISTINCT run FROM holding WHERE run NOT IN (SELECT code FROM run)"))
      broken("there is stock of {}, which is no run", text(row[0]));
  }

  void check_run(const std::string& run) {
    ++checked_.runs;
    works::RunStock stock;
    std::int64_t at = 0;
    for (const works::Movement& movement : movements_of(connection_, run)) {
      ++at;
      if (const auto posted = stock.post(movement); !posted)
        broken("movement {} of {} cannot have been: {}", at, run, posted.error().text);
    }
    const auto kept = reader_.holdings(run);
    if (kept != stock.holdings()) tell_differences(run, stock.holdings(), kept);
    const auto pressed = whole(
        connection_.ask("SELECT sum(\"last\" - \"first\" + 1) FROM pressing WHERE run = $1 AND "
                        "coalesce(void, 0) = 0",
                        {run})[0][0]);
    std::int64_t sum = 0;
    for (const works::Holding& holding : kept) {
      sum += holding.quantity;
      places_[std::string{word(holding.spot.place)}] += holding.quantity;
    }
    if (sum != pressed)
      broken("run {} does not close: {} impressions made, {} discs over all places",
             run,
             pressed,
             sum);
    checked_.impressions += pressed;
    if (const auto full = works::RunStock{kept}.overfull())
      broken("run {}: impressions {} to {} hold more discs than were pressed there",
             run,
             full->first,
             full->last);
  }

  void tell_differences(const std::string& run,
                        const std::vector<works::Holding>& made,
                        const std::vector<works::Holding>& kept) {
    std::map<works::Spot, std::int64_t> by_spot;
    for (const auto& holding : kept) by_spot[holding.spot] += holding.quantity;
    for (const auto& holding : made) by_spot[holding.spot] -= holding.quantity;
    bool told = false;
    for (const auto& [spot, difference] : by_spot) {
      if (difference == 0) continue;
      told = true;
      broken("run {}: the stock {}{}{} is {:+} discs from what its movements make",
             run,
             word(spot.place),
             spot.at.empty() ? "" : " ",
             spot.at,
             difference);
    }
    if (!told) broken("run {}: the stock's intervals are not what its movements make", run);
  }

  Connection& connection_;
  Reader reader_;
  const CheckOptions& options_;
  Checked checked_;
  std::int64_t first_{1}, last_movement_{-1};
  std::map<const Shape*, std::unordered_map<std::string, Seen>> seen_;
  std::vector<KeptMovement> movements_;
  std::size_t at_movement_{};
  bool all_movements_read_{};
  std::set<std::string> touched_runs_;
  std::map<std::string, std::int64_t> places_;
  Sha256 hash_;
  std::string line_;
};

}  // namespace

Checked check(Connection& connection, const CheckOptions& options) {
  connection.begin_read();
  try {
    Checked checked = Checker{connection, options}.check();
    connection.roll_back();
    return checked;
  } catch (...) {
    connection.roll_back();
    throw;
  }
}

}  // namespace goodside::ledger
