#pragma once
#include <optional>
#include <string>

#include "line/desk.hpp"
#include "works/listening_report.hpp"

namespace goodside::line {

/// A disc is pulled for hearing and keeps its ticket. Its impression is given, exact or as an
/// interval, or follows from the press counter where the pressings were entered with theirs.
struct Pull {
  std::string run;
  std::optional<std::int64_t> first{}, last{}, counter{};
  std::string spindle{}, reason{};
  std::string name{};  ///< what its captures are called by, besides its code
  std::optional<std::int64_t> at_ms{};
};
struct Pulled {
  Entered entered;
  std::int64_t first{}, last{}, held{};  ///< impressions; discs now suspect until it is heard
};
/// It holds everything pressed since the last disc that was heard and good. Errors: Fault::conflict,
/// not_found, bad_input.
Result<Pulled> pull_sample(const Desk& desk, const Pull& pull);

/// Whether stock is suspect for no other reason than that a sample is still to be heard; a good one
/// lets it go.
[[nodiscard]] bool held_until_heard(const std::string& reason);

/// What was heard. Good lets go what the ticket held; bad leaves it suspect.
struct Heard {
  std::string ticket;
  bool good{};
  std::string words{};
  /// Where the engine heard it: the report, the side's letter, and where the report's file lies.
  std::optional<works::ListeningReport> report{};
  std::string letter{}, report_path{}, report_sha256{}, limits{}, version{};
  std::optional<std::int64_t> at_ms{};
};
struct Verdict {
  ledger::Head head;
  std::int64_t released{};
  std::string capture, report;  ///< codes; empty without a report
};
Result<Verdict> hear_sample(const Desk& desk, const Heard& heard);

/// Reads a listening report from a file, and lays it compressed and named by its hash into the works'
/// reports/; its verdict becomes the listener's. Errors: of the files; those of json::read, naming the file.
Result<Heard> keep_report(const std::string& file, const std::string& folder, Heard heard);

/// Within an entry that writes more: the ticket's disc is good, what it held is let go. Returns how
/// many. Throws ledger::Refused.
std::int64_t find_good(ledger::Writer& writer, ledger::Row ticket);

}  // namespace goodside::line
