#pragma once
#include <atomic>
#include <condition_variable>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "json/node.hpp"
#include "line/works_place.hpp"
#include "serve/records.hpp"
#include "serve/reports.hpp"
#include "serve/standing.hpp"
#include "serve/store.hpp"
#include "works/listening_report.hpp"

namespace goodside::serve {

struct Job {
  std::string id, kind, state, what;
  std::string ticket{}, letter{}, side{}, path{}, sha256{}, bench{}, who{}, error{}, report{};
  std::int64_t number{}, at_ms{}, attempts{};
  std::optional<std::int64_t> began_ms{}, ended_ms{}, pass{};
  double share{};  ///< done
};

/// A capture that lies in the works folder and waits to be heard.
struct HearJob {
  std::string id, what, ticket, letter, path, sha256, bench, who;
};

/// Analyses: kept in the store before they are acknowledged, run by child processes at low priority,
/// a few at once; what was running when the server ended begins again, five times at most. A finished
/// hearing is entered in the record in the name of whoever brought the capture, once, however often
/// it had to be begun. From any thread; throws Stop.
class Jobs {
 public:
  struct Setting {
    std::string program;  ///< that children run
    int at_once{2}, cores{};
  };
  Jobs(line::WorksPlace place,
       Store& store,
       Records& records,
       Standing& standing,
       Reports& reports,
       Setting setting);
  Jobs(const Jobs&) = delete;
  Jobs& operator=(const Jobs&) = delete;
  ~Jobs();  ///< ends what runs; it begins again at the next start

  void begin();
  void stop();

  /// Puts a hearing into the queue; within a transaction of the store. The same id again changes
  /// nothing.
  static void put(ledger::Connection& connection, const HearJob& job, std::int64_t now_ms);
  void wake();  ///< something was put
  /// Asks for a side's trace of the record's present state; the job that makes it.
  std::string ask_trace(const std::string& side, std::int64_t seq, const std::string& who);

  [[nodiscard]] Job find(const std::string& id);
  [[nodiscard]] std::vector<Job> list(std::int64_t count);
  [[nodiscard]] std::int64_t unfinished();
  Job cancel(const std::string& id);
  /// Whoever tries again has seen that another side was played, where that was the reason.
  Job retry(const std::string& id);
  /// Grows with every change.
  [[nodiscard]] std::int64_t version() const { return version_.load(); }
  void changed() { ++version_; }

  /// A trace that was made: the entry it was made from, and its text; nothing where none was.
  struct Traced {
    std::int64_t seq{};
    std::string text;
  };
  [[nodiscard]] std::optional<Traced> traced(const std::string& side);
  /// How the last attempt ended, and the entry that it began from.
  struct LastTrace {
    std::string id, state, error;
    std::int64_t seq{};
  };
  [[nodiscard]] std::optional<LastTrace> last_trace(const std::string& side);

 private:
  void work();
  std::optional<Job> take();
  void run(const Job& job);
  void hear(const Job& job);
  void trace(const Job& job);
  void set_state(const std::string& id, const std::string& state, const std::string& error);
  void end_job(const Job& job, const std::string& error);
  [[nodiscard]] bool goes_on(const std::string& id);
  [[nodiscard]] std::vector<std::string> listen_words(const Job& job, const std::string& folder);
  void check_side(const Job& job, const works::ListeningReport& report);
  void enter(const Job& job, const std::string& folder);

  line::WorksPlace place_;
  Store& store_;
  Records& records_;
  Standing& standing_;
  Reports& reports_;
  Setting setting_;
  std::mutex guard_;
  std::condition_variable woken_;
  std::map<std::string, double> shares_;  ///< of what runs
  std::set<std::string> cancelled_;
  std::map<std::string, std::int64_t> trace_seq_;  ///< the entry that each trace began from
  std::vector<std::thread> threads_;
  std::atomic<bool> stopping_{false};
  std::atomic<std::int64_t> version_{1};
};

[[nodiscard]] json::Node job_node(const Job& job);

}  // namespace goodside::serve
