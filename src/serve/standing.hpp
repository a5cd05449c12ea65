#pragma once
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "base/result.hpp"
#include "ledger/record.hpp"

namespace goodside::serve {

/// One heard play, as lists and contact sheets show it.
struct Play {
  std::string report, capture, ticket, run, title, side, letter, stamper, mounting;
  std::int64_t first{}, last{};  ///< impressions of the run
  std::optional<std::int64_t> title_first{};
  std::int64_t play{1}, pass{}, plain{}, slight{}, at_ms{};
  std::string after, limits;
  std::optional<double> eccentricity_m{}, weighted_noise_dB{};
};

struct HeardSum {
  std::string key;  ///< a stamper, or a side
  std::int64_t plays{}, passed{}, plain{}, slight{};
  std::optional<std::int64_t> last_ms{};
};

/// Which plays of a side.
struct PlayChoice {
  std::string side;
  std::optional<std::string> stamper{};
  std::optional<bool> pass{};
  bool newest_first{};
  std::string after{};  ///< the report that the page before ended with
  std::int64_t limit{50};
};

struct OrderSum {
  std::string code{}, title{};
  std::int64_t quantity{}, made{};
  std::optional<std::int64_t> due_ms{};
  std::map<std::string, std::int64_t> places{};  ///< discs, by the place's word
  std::int64_t waiting{}, good{}, bad{};         ///< sample tickets
};

/// Sums and lists that the record itself could only count row by row: kept beside it in
/// serve/standing.db, brought forward from the log's entries, and made anew from the record whenever
/// it is not of this record. Half a million heard discs are counted once, not for every viewer.
/// From any thread; throws StoreFailure.
class Standing {
 public:
  /// Errors: those of ledger::connect.
  static Result<std::unique_ptr<Standing>> open(const std::string& path);

  /// Brings it to what `reader` sees, before anybody else follows: where it is ahead of the record,
  /// this is another record, or an older copy. `told` hears how many plays were read while it is
  /// made anew.
  void begin(ledger::Reader& reader, const std::function<void(std::int64_t)>& told = {});
  /// Brings it to what `reader` sees; not back, where another reader has seen more meanwhile.
  void follow(ledger::Reader& reader);

  [[nodiscard]] std::optional<Play> play(const std::string& report);
  [[nodiscard]] std::vector<Play> plays(const PlayChoice& choice);
  [[nodiscard]] std::int64_t count(const PlayChoice& choice);
  [[nodiscard]] std::vector<Play> plays_of_ticket(const std::string& ticket);
  /// The newest report of each ticket's play of the side.
  [[nodiscard]] std::map<std::string, std::string> reports_by_ticket(const std::string& side);
  /// The reports before and after on the same stamper; empty where there is none.
  [[nodiscard]] std::pair<std::string, std::string> neighbours(const Play& play);
  [[nodiscard]] std::vector<HeardSum> stampers(const std::string& side);
  [[nodiscard]] HeardSum stamper(const std::string& stamper);
  /// Sides, the last heard first.
  [[nodiscard]] std::vector<HeardSum> sides(std::int64_t from, std::int64_t count);
  [[nodiscard]] HeardSum side(const std::string& side);

  [[nodiscard]] std::vector<OrderSum> open_orders(std::int64_t count);
  [[nodiscard]] std::int64_t open_order_count();
  [[nodiscard]] OrderSum order(const std::string& order);
  /// Orders with discs that are pressed or edge finished, the newest first.
  [[nodiscard]] std::vector<std::string> orders_to_inspect(std::int64_t count);
  /// Over all orders: discs by place, and tickets by what was heard.
  [[nodiscard]] std::map<std::string, std::int64_t> all_places();
  [[nodiscard]] std::map<std::string, std::int64_t> all_tickets();
  /// Tickets of a run by what was heard; all runs of an order together are in its sum.
  [[nodiscard]] std::map<std::string, std::int64_t> tickets_of_run(const std::string& run);
  [[nodiscard]] std::vector<std::string> waiting_tickets(std::int64_t count);
  /// The newest entry that touched anything of the title.
  [[nodiscard]] std::int64_t title_seq(const std::string& title);

 private:
  explicit Standing(std::unique_ptr<ledger::Connection> connection)
      : connection_{std::move(connection)} {}
  void bring(ledger::Reader& reader, bool alone, const std::function<void(std::int64_t)>& told);
  void make_anew(ledger::Reader& reader, const std::function<void(std::int64_t)>& told);
  void take_entries(ledger::Reader& reader, std::int64_t next, std::int64_t last);
  void take_change(ledger::Reader& reader, const ledger::Change& change, std::int64_t seq);
  void refresh_play(ledger::Reader& reader, const std::string& report);
  void refresh_ticket(ledger::Reader& reader, const std::string& ticket);
  void refresh_order(ledger::Reader& reader, const std::string& order);
  void store_play(const Play& play);
  void forget_play(const std::string& report);
  void move(ledger::Reader& reader, const ledger::Row& movement);
  [[nodiscard]] std::vector<std::string> titles_of(ledger::Reader& reader,
                                                   const ledger::Change& change);
  [[nodiscard]] OrderSum order_within(const std::string& order);

  std::mutex guard_;
  std::unique_ptr<ledger::Connection> connection_;
};

}  // namespace goodside::serve
