#include "intake/shop_file.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <functional>

#include "intake/safe_file.hpp"
#include "intake/toml_table.hpp"
#include "units/read.hpp"

namespace goodside::intake {
namespace {

constexpr std::int64_t day_s = 86400;
constexpr std::int64_t most_discs = 100'000'000;
constexpr std::size_t most_orders = 5000;

/// The number of exactly `digits` digits that `text` begins with, which goes; -1 where it does not.
int take(std::string_view& text, std::size_t digits) {
  int value = 0;
  if (text.size() < digits) return -1;
  const auto [end, error] = std::from_chars(text.data(), text.data() + digits, value);
  if (error != std::errc{} || end != text.data() + digits || text.front() == '-') return -1;
  text.remove_prefix(digits);
  return value;
}
bool pass(std::string_view& text, char mark) {
  if (!text.starts_with(mark)) return false;
  text.remove_prefix(1);
  return true;
}
void trim(std::string_view& text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
}

std::optional<std::int64_t> clock_s(std::string_view& text) {
  const int hour = take(text, 2);
  if (hour < 0 || hour > 24 || !pass(text, ':')) return std::nullopt;
  const int minute = take(text, 2);
  if (minute < 0 || minute > 59 || (hour == 24 && minute > 0)) return std::nullopt;
  return hour * 3600 + minute * 60;
}

/// 2026-11-25, or 2026-11-25 14:30; a T may stand for the space.
std::optional<std::int64_t> instant_s(std::string_view text) {
  trim(text);
  const int year = take(text, 4);
  if (year < 1970 || year > 2999 || !pass(text, '-')) return std::nullopt;
  const int month = take(text, 2);
  if (month < 1 || !pass(text, '-')) return std::nullopt;
  const int day = take(text, 2);
  if (day < 1) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year{year},
                                         std::chrono::month{static_cast<unsigned>(month)},
                                         std::chrono::day{static_cast<unsigned>(day)}};
  if (!date.ok()) return std::nullopt;
  const std::int64_t midnight_s =
      std::int64_t{std::chrono::sys_days{date}.time_since_epoch().count()} * day_s;
  if (text.empty()) return midnight_s;
  if (!pass(text, ' ') && !pass(text, 'T')) return std::nullopt;
  const auto clock = clock_s(text);
  if (!clock || !text.empty()) return std::nullopt;
  return midnight_s + *clock;
}

/// "mon-fri 06:00-14:00", "sat 06:00-12:00", "mon,wed 22:00-06:00" (into the next day).
std::optional<works::ShopShift> shift_of(std::string_view text) {
  constexpr std::array<std::string_view, 7> names{"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
  works::ShopShift shift;
  trim(text);
  const auto day = [&]() -> int {
    for (std::size_t k = 0; k < names.size(); ++k)
      if (text.starts_with(names[k])) {
        text.remove_prefix(3);
        return static_cast<int>(k);
      }
    return -1;
  };
  do {
    const int from = day();
    if (from < 0) return std::nullopt;
    int to = from;
    if (pass(text, '-') && (to = day()) < 0) return std::nullopt;
    for (int k = from;; k = (k + 1) % 7) {
      shift.days[static_cast<std::size_t>(k)] = true;
      if (k == to) break;
    }
  } while (pass(text, ','));
  if (!pass(text, ' ')) return std::nullopt;
  trim(text);
  const auto from = clock_s(text);
  if (!from || !pass(text, '-')) return std::nullopt;
  const auto to = clock_s(text);
  if (!to || !text.empty() || *from == *to) return std::nullopt;
  shift.from_s = *from;
  shift.to_s = *to > *from ? *to : *to + day_s;
  return shift;
}

/// Fills fields from one table and keeps the first error, so that a reader is a list of its keys.
class Fields {
 public:
  explicit Fields(const TomlTable& table) : table_{table} {}

  Fields& text(const std::string& key, std::string& to) {
    return take_in(key, table_.words(key), [&](std::string value) { to = std::move(value); });
  }
  Fields& texts(const std::string& key, std::vector<std::string>& to) {
    return take_in(
        key, table_.texts(key), [&](std::vector<std::string> value) { to = std::move(value); });
  }
  Fields& truth(const std::string& key, bool& to) {
    return take_in(key, table_.truth(key), [&](bool value) { to = value; });
  }
  Fields& time(const std::string& key, double& to) {
    return words(key, [&](const std::string& word) -> std::string {
      const auto value = units::duration_s(word);
      if (!value) return value.error().text;
      to = *value;
      return "";
    });
  }
  Fields& instant(const std::string& key, std::int64_t& to) {
    return words(key, [&](const std::string& word) -> std::string {
      const auto value = instant_s(word);
      if (!value)
        return fmt::format("\"{}\" is no date; write one such as \"2026-11-25 14:30\"", word);
      to = *value;
      return "";
    });
  }
  Fields& number(const std::string& key, double& to, double least, double most) {
    return take_in(key, table_.number(key), [&](double value) {
      if (value < least || value > most)
        fail(key, fmt::format("{} cannot be; from {} to {}", value, least, most));
      to = value;
    });
  }
  template <class Whole>
  Fields& whole(const std::string& key, Whole& to, std::int64_t least, std::int64_t most) {
    return take_in(key, table_.whole_number(key), [&](std::int64_t value) {
      if (value < least || value > most)
        fail(key, fmt::format("{} cannot be; from {} to {}", value, least, most));
      to = static_cast<Whole>(value);
    });
  }
  /// Each text of the list through `read`, which says what is wrong with it, or nothing.
  Fields& each(const std::string& key, const std::function<std::string(const std::string&)>& read) {
    return take_in(key, table_.texts(key), [&](const std::vector<std::string>& all) {
      for (const std::string& one : all)
        if (const std::string wrong = read(one); !wrong.empty()) return fail(key, wrong);
    });
  }
  Fields& must(const std::string& key, const std::string& what) {
    const auto all = table_.keys();
    if (std::find(all.begin(), all.end(), key) == all.end())
      fail("", fmt::format("{} is missing; {}", key, what));
    known_.push_back(key);
    return *this;
  }
  Fields& also(const std::string& key) {
    known_.push_back(key);
    return *this;
  }
  [[nodiscard]] Outcome done() const {
    if (error_) return *error_;
    std::vector<std::string_view> known{known_.begin(), known_.end()};
    return table_.only(known);
  }

 private:
  Fields& words(const std::string& key,
                const std::function<std::string(const std::string&)>& read) {
    return take_in(key, table_.words(key), [&](const std::string& value) {
      if (const std::string wrong = read(value); !wrong.empty()) fail(key, wrong);
    });
  }
  template <class Given, class Set>
  Fields& take_in(const std::string& key, const Given& given, const Set& set) {
    known_.push_back(key);
    if (!given) {
      if (!error_) error_ = given.error();
    } else if (*given) {
      set(**given);
    }
    return *this;
  }
  void fail(const std::string& key, const std::string& what) {
    if (!error_) error_ = table_.refuse(key, what);
  }

  const TomlTable& table_;
  std::vector<std::string> known_;
  std::optional<Error> error_;
};

class Reader {
 public:
  Reader(const std::string& shown_name, bool record) : record_{record} {
    shop_.source = shown_name;
  }

  Result<works::Shop> read(const TomlTable& document) {
    Fields top{document};
    if (!record_) top.must("now", "say from when to plan, such as now = \"2026-11-25 06:00\"");
    if (const auto done = top.text("name", shop_.name)
                              .instant("now", shop_.now_s)
                              .also("hours")
                              .also("stations")
                              .also("machines")
                              .also("hands")
                              .also("routes")
                              .also("titles")
                              .also("orders")
                              .also("running")
                              .done();
        !done)
      return done.error();
    const std::pair<const char*, Outcome (Reader::*)(const TomlTable&, const std::string&)>
        parts[] = {{"hours", &Reader::hours},
                   {"stations", &Reader::station},
                   {"machines", &Reader::machine},
                   {"hands", &Reader::hand},
                   {"routes", &Reader::route},
                   {"titles", &Reader::title},
                   {"orders", &Reader::order},
                   {"running", &Reader::running}};
    for (const auto& [name, part] : parts) {
      const auto table = document.table(name);
      if (!table) return table.error();
      if (!*table) continue;
      for (const std::string& id : (*table)->keys()) {
        const auto one = (*table)->table(id);
        if (!one) return one.error();
        if (const auto done = (this->*part)(**one, id); !done) return done.error();
      }
    }
    if (shop_.orders.empty() && !record_)
      return document.refuse("", "there is nothing to plan; add an order under [orders]");
    if (shop_.orders.size() > most_orders)
      return document.refuse("orders",
                             fmt::format("more than {} orders; plan them in parts", most_orders));
    return std::move(shop_);
  }

 private:
  Outcome hours(const TomlTable& table, const std::string& id) {
    works::ShopHours one{.id = id, .shifts = {}, .closed = {}};
    const auto done =
        Fields{table}
            .each("shifts",
                  [&](const std::string& text) -> std::string {
                    const auto shift = shift_of(text);
                    if (!shift)
                      return fmt::format(
                          "\"{}\" is no shift; write one such as \"mon-fri 06:00-14:00\"", text);
                    one.shifts.push_back(*shift);
                    return "";
                  })
            .each("closed",
                  [&](const std::string& text) -> std::string {
                    const auto day = instant_s(text);
                    if (!day || *day % day_s != 0)
                      return fmt::format("\"{}\" is no day; write one such as \"2026-12-25\"",
                                         text);
                    one.closed.push_back(*day);
                    return "";
                  })
            .done();
    if (done) shop_.hours.push_back(std::move(one));
    return done;
  }

  Outcome station(const TomlTable& table, const std::string& id) {
    works::ShopStation one;
    one.id = id;
    const auto done = Fields{table}
                          .text("skill", one.skill)
                          .time("format_change", one.format_change_s)
                          .time("compound_change", one.compound_change_s)
                          .time("title_change", one.title_change_s)
                          .time("warm_up", one.warm_up_s)
                          .time("stays_warm", one.stays_warm_s)
                          .truth("pauses", one.pauses)
                          .truth("takes_set", one.takes_set)
                          .time("breakdown_every", one.breakdown_every_s)
                          .time("repair", one.repair_s)
                          .number("repair_spread", one.repair_spread, 0.0, 3.0)
                          .done();
    if (done) shop_.stations.push_back(std::move(one));
    return done;
  }

  Outcome machine(const TomlTable& table, const std::string& id) {
    works::ShopMachine one;
    one.id = id;
    const auto done =
        Fields{table}
            .must("station", "say at which station it stands")
            .text("station", one.station)
            .text("hours", one.hours)
            .whole("places", one.places, 1, 1000)
            .number("pace", one.pace, 0.01, 100.0)
            .text("format", one.format)
            .text("compound", one.compound)
            .text("title", one.title)
            .text("press", one.press)
            .each("closed",
                  [&](const std::string& text) -> std::string {
                    const auto slash = text.find('/');
                    const auto from = instant_s(std::string_view{text}.substr(0, slash));
                    const auto to = slash == std::string::npos
                                        ? std::nullopt
                                        : instant_s(std::string_view{text}.substr(slash + 1));
                    if (!from || !to || *to <= *from)
                      return fmt::format(
                          "\"{}\" is no span; write \"2026-11-27 06:00 / 2026-11-27 14:00\"", text);
                    one.closed.push_back({*from, *to});
                    return "";
                  })
            .done();
    if (done) shop_.machines.push_back(std::move(one));
    return done;
  }

  Outcome hand(const TomlTable& table, const std::string& id) {
    works::ShopHand one;
    one.id = id;
    const auto done = Fields{table}
                          .must("skills", "say what it can do, as a list")
                          .text("hours", one.hours)
                          .texts("skills", one.skills)
                          .whole("places", one.places, 1, 1000)
                          .done();
    if (done) shop_.hands.push_back(std::move(one));
    return done;
  }

  Outcome route(const TomlTable& table, const std::string& id) {
    works::ShopRoute one;
    one.id = id;
    if (const auto done =
            Fields{table}
                .must("steps", "write a table [routes." + id + ".steps.NAME] for each")
                .whole("lot", one.lot, 0, most_discs)
                .texts("formats", one.formats)
                .texts("materials", one.materials)
                .done();
        !done)
      return done.error();
    const auto steps = table.table("steps");
    if (!steps) return steps.error();
    for (const std::string& name : (*steps)->keys()) {
      const auto of = (*steps)->table(name);
      if (!of) return of.error();
      works::ShopStep step;
      step.id = name;
      if (const auto done = read_step(**of, step); !done) return done.error();
      one.steps.push_back(std::move(step));
    }
    if (const auto sorted = put_in_order(**steps, one.steps); !sorted) return sorted.error();
    shop_.routes.push_back(std::move(one));
    return Done{};
  }

  static Outcome read_step(const TomlTable& table, works::ShopStep& step) {
    const auto done = Fields{table}
                          .text("station", step.station)
                          .time("time", step.time_s)
                          .time("each", step.each_s)
                          .number("yield", step.yield, 0.01, 1.0)
                          .number("yield_spread", step.yield_spread, 0.0, 3.0)
                          .truth("per_side", step.per_side)
                          .truth("per_lot", step.per_lot)
                          .texts("after", step.after)
                          .time("rest", step.rest_s)
                          .text("arrival", step.arrival)
                          .number("spread", step.spread, 0.0, 3.0)
                          .number("refused", step.refused, 0.0, 0.95)
                          .text("again", step.again)
                          .text("means", step.means)
                          .done();
    if (!done || step.means.empty()) return done;
    const auto& known = works::step_meanings;
    if (std::find(known.begin(), known.end(), step.means) == known.end())
      return table.refuse(
          "means",
          fmt::format("\"{}\" is nothing the record knows of; it knows {}", step.means, [&] {
            std::string all;
            for (const auto one : known) all += (all.empty() ? "" : ", ") + std::string{one};
            return all;
          }()));
    return done;
  }

  static Outcome put_in_order(const TomlTable& table, std::vector<works::ShopStep>& steps) {
    std::vector<works::ShopStep> sorted;
    while (!steps.empty()) {
      const auto free = std::find_if(steps.begin(), steps.end(), [&](const works::ShopStep& step) {
        return std::all_of(step.after.begin(), step.after.end(), [&](const std::string& before) {
          return std::none_of(
              steps.begin(), steps.end(), [&](const auto& other) { return other.id == before; });
        });
      });
      if (free == steps.end())
        return table.refuse(steps.front().id,
                            "waits for a step that waits for it; break the circle in `after`");
      sorted.push_back(std::move(*free));
      steps.erase(free);
    }
    steps = std::move(sorted);
    return Done{};
  }

  Outcome title(const TomlTable& table, const std::string& id) {
    works::ShopTitle one;
    one.id = id;
    if (record_) {
      one.sides.clear();
      one.sets = 0;
      one.spares = -1;
      one.life_closings = -1.0;
    }
    const auto done = Fields{table}
                          .text("format", one.format)
                          .texts("sides", one.sides)
                          .truth("cut", one.cut)
                          .whole("sets", one.sets, 1, 1000)
                          .number("life_shape", one.life_shape, 0.0, 50.0)
                          .number("life_closings", one.life_closings, 0.0, 1e7)
                          .whole("spares", one.spares, 0, 1000)
                          .done();
    if (done) shop_.titles.push_back(std::move(one));
    return done;
  }

  Outcome order(const TomlTable& table, const std::string& id) {
    works::ShopOrderBook one;
    one.id = id;
    Fields fields{table};
    if (!record_)
      fields.must("title", "say what is ordered")
          .must("route", "say which route it takes")
          .must("quantity", "say how many discs are ordered")
          .must("due", "say when it is due");
    if (const auto done = fields.text("title", one.title)
                              .text("route", one.route)
                              .text("compound", one.compound)
                              .whole("quantity", one.quantity, 1, most_discs)
                              .instant("due", one.due_s)
                              .number("weight", one.weight, 0.0, 1e6)
                              .truth("late", one.late_known)
                              .truth("leave_out", one.leave_out)
                              .texts("in_hand", one.in_hand)
                              .also("arrives")
                              .also("begun")
                              .done();
        !done)
      return done.error();
    if (const auto begun = read_begun(table, one); !begun) return begun.error();
    const auto arrives = table.table("arrives");
    if (!arrives) return arrives.error();
    if (*arrives)
      for (const std::string& what : (*arrives)->keys()) {
        Fields field{**arrives};
        std::int64_t when_s = 0;
        for (const std::string& other : (*arrives)->keys()) field.also(other);
        if (const auto done = field.instant(what, when_s).done(); !done) return done.error();
        one.arrives_s[what] = when_s;
      }
    if (record_ || !one.leave_out) shop_.orders.push_back(std::move(one));
    return Done{};
  }

  static Outcome read_begun(const TomlTable& table, works::ShopOrderBook& order) {
    const auto begun = table.table("begun");
    if (!begun) return begun.error();
    if (!*begun) return Done{};
    for (const std::string& id : (*begun)->keys()) {
      const auto of = (*begun)->table(id);
      if (!of) return of.error();
      works::ShopBegun one{.id = id, .good = 0, .done = {}};
      if (const auto done = Fields{**of}
                                .must("good", "say how many good discs of it there are")
                                .must("done", "say which steps they have behind them, as a list")
                                .whole("good", one.good, 1, most_discs)
                                .texts("done", one.done)
                                .done();
          !done)
        return done.error();
      order.begun.push_back(std::move(one));
    }
    return Done{};
  }

  Outcome running(const TomlTable& table, const std::string& id) {
    works::ShopRunning one;
    one.id = id;
    const auto done = Fields{table}
                          .must("order", "say of which order")
                          .must("step", "say which step of its route")
                          .must("left", "say how much of it is left, such as \"3 h\"")
                          .text("order", one.order)
                          .text("step", one.step)
                          .text("side", one.side)
                          .text("machine", one.unit)
                          .whole("lot", one.lot, 0, 1000)
                          .time("left", one.left_s)
                          .done();
    if (done) shop_.running.push_back(std::move(one));
    return done;
  }

  works::Shop shop_;
  bool record_{};
};

}  // namespace

Result<works::Shop> shop_from_toml(std::string_view text,
                                   const std::string& shown_name,
                                   bool record) {
  const auto document = TomlTable::parse(text, shown_name);
  if (!document) return document.error();
  return Reader{shown_name, record}.read(*document);
}

Result<works::Shop> read_shop(const std::string& path, bool record) {
  const auto text = read_whole(path);
  if (!text) return text.error();
  return shop_from_toml(*text, path, record);
}

std::optional<std::int64_t> shop_instant_s(std::string_view text) {
  return instant_s(text);
}

std::optional<works::ShopShift> shop_shift(std::string_view text) {
  return shift_of(text);
}

}  // namespace goodside::intake
