#pragma once
#include <functional>
#include <string>
#include <vector>

#include "line/works_place.hpp"
#include "serve/accounts.hpp"
#include "serve/records.hpp"
#include "serve/router.hpp"
#include "serve/standing.hpp"
#include "serve/store.hpp"

namespace goodside::serve {

class Jobs;
class Recorder;
class Calculations;
class GivenFiles;
class Uploads;
class Reports;
class Sounds;

/// What the routes share.
struct Board {
  line::WorksPlace place;
  bool secure{};  ///< over TLS: cookies are for it alone
  Store& store;
  Records& records;
  Standing& standing;
  Accounts& accounts;
  Reports& reports;
  Sounds& sounds;
  Uploads& uploads;
  Jobs& jobs;
  Recorder& recorder;
  GivenFiles& given;
  Calculations& calculations;

  /// Questions on one state of the record, with the standing brought forward to it.
  void read(const std::function<void(ledger::Reader&)>& ask) const;
};

// One file a family of routes. The board outlives them.
std::vector<Route> session_routes(Board& board);
std::vector<Route> line_routes(Board& board);
std::vector<Route> search_routes(Board& board);
std::vector<Route> subject_routes(Board& board);
std::vector<Route> side_routes(Board& board);
std::vector<Route> play_routes(Board& board);
std::vector<Route> trace_routes(Board& board);
std::vector<Route> upload_routes(Board& board);
std::vector<Route> job_routes(Board& board);
std::vector<Route> recording_routes(Board& board);
std::vector<Route> hold_routes(Board& board);
std::vector<Route> order_routes(Board& board);
std::vector<Route> part_routes(Board& board);
std::vector<Route> press_routes(Board& board);
std::vector<Route> inspect_routes(Board& board);
std::vector<Route> pack_routes(Board& board);
std::vector<Route> paper_routes(Board& board);
std::vector<Route> ledger_routes(Board& board);
std::vector<Route> flow_routes(Board& board);
std::vector<Route> calculation_routes(Board& board);

}  // namespace goodside::serve
