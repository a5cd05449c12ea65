#pragma once
#include <string>
#include <vector>

#include "line/desk.hpp"
#include "works/trace_costs.hpp"

namespace goodside::line {

/// A works folder, as its goodside.toml describes it.
struct WorksPlace {
  std::string folder, name, zone;
  std::string store;  ///< path of record.db, or a PostgreSQL connection string
};

/// Reads goodside.toml:  name = "…"  zone = "Europe/…"  [record] store = "record.db" or
/// "postgresql://…". Errors: Fault::not_found, Fault::bad_input with file and line.
Result<WorksPlace> read_works_place(const std::string& folder);

/// The works' own costs, [costs] of its goodside.toml (intake/trace_costs.hpp).
Result<works::TraceCosts> works_costs(const std::string& folder);

/// What `works init` makes: the folder with goodside.toml, captures/, reports/, papers/ and an empty
/// record whose first entry names the works. `patterns`: noun=PATTERN, for codes in the works' own
/// style.
struct NewWorks {
  std::string folder, name, zone{"UTC"}, store{"record.db"};
  std::vector<std::string> patterns{};
};
/// Errors: Fault::conflict where a works is there already (nothing is touched); Fault::bad_input.
Result<ledger::Head> make_works(const NewWorks& works, const std::string& who, std::int64_t now_ms);

}  // namespace goodside::line
