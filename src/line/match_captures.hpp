#pragma once
#include <string>
#include <vector>

#include "line/desk.hpp"

namespace goodside::line {

struct CaptureFolder {
  std::string folder;
  std::string table{};  ///< CSV with the columns file, ticket, side; empty: names tell
  bool enter{true};
};

struct Matched {
  struct Hit {
    std::string file, ticket, letter, capture{};
    bool known{};  ///< these bytes were entered for this ticket and side before
  };
  struct Miss {
    std::string file, why;
  };
  std::vector<Hit> hits;     ///< in the order of the names
  std::vector<Miss> misses;  ///< files without a ticket, table lines without a file
  ledger::Head head;
};

/// Ties the audio files of a folder to sample tickets: by a table, or by their names, which hold the
/// ticket's code (or the name that it was given) and end in the side's letter: `S-000001-3_A.wav`.
/// Each is entered as a capture with its SHA-256, in one entry. Errors: Fault::not_found,
/// Fault::bad_input where folder or table cannot be used.
Result<Matched> match_captures(const Desk& desk, const CaptureFolder& captures);

}  // namespace goodside::line
