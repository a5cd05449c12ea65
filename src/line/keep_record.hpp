#pragma once
#include <functional>
#include <string>
#include <vector>

#include "ledger/check.hpp"
#include "line/desk.hpp"

namespace goodside::line {

/// ledger::check, with the file's own integrity, and a store that fails told as an Error.
Result<ledger::Checked> check_record(ledger::Record& record, const ledger::CheckOptions& options);

/// `12:3f0a…`, as papers and backups carry it: the entry, a colon, and 8 or more hexadecimal digits
/// of its hash.  Errors: Fault::bad_input; Fault::conflict where the record's entry of that number
/// is another; an entry that is not there is left for the check to tell.
Result<ledger::Head> read_head(ledger::Record& record, std::string_view text);

/// Writes the whole log as JSON lines [docs/works.md] to a file that appears whole or not at all,
/// while others may go on writing; the head that it ends with.
Result<ledger::Head> export_lines(ledger::Record& record, const std::string& path);
/// One CSV file a table into a folder, made where it is not there.
Outcome export_tables(ledger::Record& record, const std::string& folder);
/// Takes such a log into an empty record: all of it, or nothing. Errors: Fault::bad_input with the
/// line, Fault::conflict where the record is not empty.
Result<ledger::Head> import_lines(ledger::Record& record, const std::string& path);

/// A consistent copy while others write: of a SQLite record a file of its kind, of a PostgreSQL
/// record its log as JSON lines. The copy is opened and its head compared before it gets its name.
/// Errors: Fault::conflict where the file is there already.
Result<ledger::Head> back_up(ledger::Record& record, const std::string& path);
/// Puts a backup (of either kind) in place of the works' record. A SQLite record that is there is
/// kept beside, as `record.db.before-HEAD`; a PostgreSQL one must be empty. The restored record is
/// checked as a whole.
Result<ledger::Checked> restore(const std::string& backup, const std::string& store);

}  // namespace goodside::line
