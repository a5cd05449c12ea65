#include <fmt/format.h>

#include <memory>
#include <mutex>
#include <thread>

#include "line/keep_record.hpp"
#include "serve/by_hand.hpp"

// The ledger: balance by place, movements, and the check of the whole record against its own log.

namespace goodside::serve {
namespace {

using ledger::at;
using ledger::Reader;
using ledger::Row;
using ledger::text;
using ledger::whole;

constexpr std::int64_t most_orders = 200;

Answer balance(Board& board) {
  Object out;
  board.read([&](Reader& reader) {
    auto places = board.standing.all_places();
    places.erase("press");  // the other side of the account
    std::int64_t sum = 0;
    for (const auto& [place, discs] : places) sum += discs;
    List orders;
    for (const auto& cells : reader.connection().ask(
             "SELECT code FROM orders WHERE coalesce(void, 0) = 0 ORDER BY at_ms DESC, code DESC "
             "LIMIT $1",
             {most_orders})) {
      const OrderSum order = board.standing.order(text(cells[0]));
      const Row title = need(reader, "title", order.title);
      std::int64_t held = 0;
      for (const auto& [place, discs] : order.places) held += discs;
      orders.push_back(Object{{"code", order.code},
                              {"name", text(at(title, "name"))},
                              {"quantity", order.quantity},
                              {"impressions", order.made},
                              {"counts", counts_node(order.places)},
                              {"closes", held == order.made}});
    }
    const std::int64_t made = ask_number(
        reader,
        "SELECT CAST(coalesce(sum(\"last\" - \"first\" + 1), 0) AS BIGINT) FROM pressing WHERE "
        "coalesce(void, 0) = 0");
    const ledger::Head head = ledger::head_of(reader.connection());
    out = {{"seq", head.seq},
           {"head", fmt::format("{}:{}", head.seq, head.hash.substr(0, 16))},
           {"impressions", made},
           {"counts", counts_node(places)},
           {"closes", sum == made},
           {"orders", std::move(orders)}};
  });
  return answer(out);
}

json::Node spot_node(const Row& row, const std::string& side) {
  return Object{{"place", text(at(row, side + "_place"))},
                {"at", or_null(text(at(row, side + "_at")))},
                {"reason", or_null(text(at(row, side + "_reason")))}};
}

Answer movements(Board& board, Asked& asked) {
  const std::int64_t limit = asked.number("limit", 1, 200, 50);
  const std::int64_t before = asked.number("before", 0, INT64_MAX, 0);
  const std::string run = asked.asked_for("run").value_or("");
  List list;
  board.read([&](Reader& reader) {
    std::string where;
    ledger::Values values;
    if (before > 0) {
      values.emplace_back(before);
      where += fmt::format(" AND m.id < ${}", values.size());
    }
    if (!run.empty()) {
      values.emplace_back(run);
      where += fmt::format(" AND m.run = ${}", values.size());
    }
    values.emplace_back(limit);
    for (const auto& cells : reader.connection().ask(
             fmt::format(
                 "SELECT m.id, m.event, e.at_ms, e.who, e.what FROM movement m JOIN event e "
                 "ON e.seq = m.event WHERE m.id > 0{} ORDER BY m.id DESC LIMIT ${}",
                 where,
                 values.size()),
             values)) {
      const Row row = *reader.find("movement", cells[0]);
      list.push_back(
          Object{{"id", whole(cells[0])},
                 {"entry", whole(cells[1])},
                 {"at_ms", whole(cells[2])},
                 {"who", text(cells[3])},
                 {"what", text(cells[4])},
                 {"run", text(at(row, "run"))},
                 {"impressions", range_node(whole(at(row, "first")), whole(at(row, "last")))},
                 {"quantity", whole(at(row, "quantity"))},
                 {"from", spot_node(row, "from")},
                 {"to", spot_node(row, "to")},
                 {"reverses", cell(row, "reverses")}});
    }
  });
  json::Node next;
  if (list.size() == static_cast<std::size_t>(limit)) next = *list.back().find("id");
  return answer(Object{{"movements", std::move(list)}, {"next", next}});
}

/// One check at a time, beside the requests; it ends with the server.
class Checker {
 public:
  explicit Checker(std::string store) : store_{std::move(store)} {}

  void begin(const std::string& who) {
    const std::lock_guard lock{guard_};
    if (running_) return;
    running_ = true;
    share_ = 0.0;
    who_ = who;
    worker_ = std::jthread{[this](const std::stop_token& stop) { work(stop); }};
  }

  json::Node node() {
    const std::lock_guard lock{guard_};
    return Object{{"state",
                   running_                      ? "running"
                   : checked_ || !error_.empty() ? "done"
                                                 : "none"},
                  {"share", share_},
                  {"who", or_null(who_)},
                  {"ended_ms", ended_ms_ == 0 ? json::Node{} : json::Node{ended_ms_}},
                  {"error", or_null(error_)},
                  {"result", checked_ ? result() : json::Node{}}};
  }

 private:
  struct Ended {};

  void work(const std::stop_token& stop) {
    std::optional<ledger::Checked> checked;
    std::string error;
    try {
      auto record = ledger::Record::open(store_, false);
      if (!record) throw Stop{503, record.error().text};
      ledger::CheckOptions options;
      options.progress = [&](double share) {
        if (stop.stop_requested()) throw Ended{};
        const std::lock_guard lock{guard_};
        share_ = share;
      };
      const auto done = line::check_record(*record, options);
      if (done)
        checked = *done;
      else
        error = done.error().text;
    } catch (const Ended&) {
      error = "the server was ended";
    } catch (const Stop& stopped) {
      error = stopped.text;
    } catch (const std::exception& failure) {
      error = failure.what();
    }
    const std::lock_guard lock{guard_};
    checked_ = std::move(checked);
    error_ = std::move(error);
    ended_ms_ = now_ms();
    share_ = 1.0;
    running_ = false;
  }

  [[nodiscard]] json::Node result() const {
    List breaks;
    for (const std::string& one : checked_->breaks) breaks.emplace_back(one);
    std::map<std::string, std::int64_t> places;
    for (const auto& [place, discs] : checked_->places) places[place] = discs;
    return Object{
        {"closes", checked_->closes()},
        {"head", fmt::format("{}:{}", checked_->head.seq, checked_->head.hash.substr(0, 16))},
        {"entries", checked_->entries},
        {"rows", checked_->rows},
        {"movements", checked_->movements},
        {"runs", checked_->runs},
        {"impressions", checked_->impressions},
        {"counts", counts_node(places)},
        {"breaks", std::move(breaks)},
        {"more_breaks", checked_->more_breaks}};
  }

  std::string store_;
  std::mutex guard_;
  bool running_{};
  double share_{};
  std::int64_t ended_ms_{};
  std::string who_, error_;
  std::optional<ledger::Checked> checked_;
  std::jthread worker_;
};

}  // namespace

std::vector<Route> ledger_routes(Board& board) {
  const auto checker = std::make_shared<Checker>(board.place.store);
  return {{.method = "GET", .path = "/api/ledger", .run = [&](Asked&) { return balance(board); }},
          {.method = "GET",
           .path = "/api/ledger/movements",
           .run = [&](Asked& asked) { return movements(board, asked); }},
          {.method = "GET",
           .path = "/api/ledger/check",
           .own_tag = true,
           .run = [checker](Asked&) { return answer(checker->node()); }},
          {.method = "POST",
           .path = "/api/ledger/check",
           .roles = who_enters(),
           .run = [checker](Asked& asked) {
             checker->begin(asked.session.name);
             return answer(checker->node(), 202);
           }}};
}

}  // namespace goodside::serve
