#include "line/keep_record.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

namespace goodside::line {
namespace {

namespace fs = std::filesystem;

bool is_sqlite_file(const std::string& path) {
  std::ifstream file{path, std::ios::binary};
  std::string head(15, '\0');
  return file.read(head.data(), static_cast<std::streamsize>(head.size())) &&
         head == "SQLite format 3";
}

bool synced(const char* path) {
  const int descriptor = open(path, O_RDONLY | O_CLOEXEC);
  const bool done = descriptor >= 0 && fsync(descriptor) == 0;
  if (descriptor >= 0) close(descriptor);
  return done;
}

/// Brings a file's bytes and its name to the disk.
bool to_disk(const fs::path& path) {
  return synced(path.c_str()) && synced(fs::absolute(path).parent_path().c_str());
}

Result<ledger::Head> head_in(const std::string& store) {
  auto record = ledger::Record::open(store, false);
  if (!record) return record.error();
  ledger::Head head;
  const auto asked =
      record->read([&](ledger::Reader& reader) { head = ledger::head_of(reader.connection()); });
  if (!asked) return asked.error();
  return head;
}

/// Opening a copy leaves its log files beside it; they go once it is closed. The copy itself stays.
void clear_beside(const std::string& path) {
  std::error_code ignored;
  for (const char* end : {"-wal", "-shm"}) fs::remove(path + end, ignored);
}

}  // namespace

Result<ledger::Checked> check_record(ledger::Record& record, const ledger::CheckOptions& options) {
  try {
    ledger::Checked checked = ledger::check(record.connection(), options);
    if (!options.since_ms)
      if (const std::string complaint = record.connection().integrity_complaint(false);
          !complaint.empty())
        checked.breaks.push_back("the file itself is damaged: " + complaint);
    return checked;
  } catch (const ledger::StoreFailure& failure) {
    return ledger::told(failure);
  }
}

Result<ledger::Head> read_head(ledger::Record& record, std::string_view text) {
  const auto colon = text.find(':');
  std::int64_t seq = 0;
  const std::string_view number = text.substr(0, colon);
  const std::string_view digits =
      colon == std::string_view::npos ? std::string_view{} : text.substr(colon + 1);
  for (const char digit : number) {
    if (digit < '0' || digit > '9' || seq > 999'999'999'999) seq = -1;
    if (seq < 0) break;
    seq = 10 * seq + (digit - '0');
  }
  if (seq < 1 || digits.size() < 8 || digits.size() > 64 ||
      digits.find_first_not_of("0123456789abcdef") != std::string_view::npos)
    return Error{Fault::bad_input,
                 fmt::format("\"{}\" is no head; it reads like 12:3f0a91c2, entry and hash",
                             text.substr(0, 80))};
  ledger::Head head{seq, std::string{digits}};
  const auto asked = record.read([&](ledger::Reader& reader) {
    const auto event = ledger::event_of(reader.connection(), seq);
    if (event && event->hash.starts_with(digits)) head.hash = event->hash;
  });
  if (!asked) return asked.error();
  return head;
}

Result<ledger::Head> back_up(ledger::Record& record, const std::string& path) {
  std::error_code problem;
  if (fs::exists(path, problem))
    return Error{Fault::conflict, path + ": is there already; name a new file for each backup"};
  if (record.connection().kind() == ledger::Connection::Kind::postgresql)
    return export_lines(record, path);
  const std::string part = path + ".part";
  fs::remove(part, problem);
  try {
    record.connection().copy_to(part);
  } catch (const ledger::StoreFailure& failure) {
    fs::remove(part, problem);
    return Error{Fault::io, fmt::format("{}: cannot be written ({})", path, failure.what())};
  }
  const auto head = head_in(part);
  clear_beside(part);
  if (head && to_disk(part)) {
    fs::rename(part, path, problem);
    if (!problem && to_disk(path)) return *head;
  }
  fs::remove(part, problem);
  return head ? Error{Fault::io, path + ": cannot be brought to the disk; is it full?"}
              : head.error();
}

Result<ledger::Checked> restore(const std::string& backup, const std::string& store) {
  std::error_code problem;
  if (!fs::is_regular_file(backup, problem))
    return Error{Fault::not_found, backup + ": is no file; check the name"};
  const bool copy = is_sqlite_file(backup) && !ledger::names_postgresql(store);
  if (is_sqlite_file(backup) && !copy)
    return Error{
        Fault::bad_input,
        "that backup is a SQLite file, and this works' record is in PostgreSQL; export the "
        "backup to JSON lines and import that"};
  if (copy) {
    if (const auto head = head_in(backup); !head) return head.error();
    clear_beside(backup);
    if (fs::exists(store, problem)) {
      const auto old = head_in(store);
      const std::string mark = old ? fmt::format("{}", old->seq) : "damaged";
      std::string aside = store + ".before-" + mark;
      for (int again = 2; fs::exists(aside, problem); ++again)
        aside = fmt::format("{}.before-{}-{}", store, mark, again);
      // What the old record's log files still hold belongs to it.
      for (const char* end : {"-wal", "-shm"})
        if (fs::exists(store + end, problem)) fs::rename(store + end, aside + end, problem);
      fs::rename(store, aside, problem);
      if (problem)
        return Error{Fault::io, store + ": cannot be set aside; is the folder yours to write?"};
    }
    const std::string part = store + ".part";
    fs::copy_file(backup, part, fs::copy_options::overwrite_existing, problem);
    if (!problem && to_disk(part)) fs::rename(part, store, problem);
    if (problem) return Error{Fault::io, store + ": cannot be written; is the disk full?"};
  }
  auto record = ledger::Record::open(store, !copy);
  if (!record) return record.error();
  if (!copy)
    if (const auto head = import_lines(*record, backup); !head) return head.error();
  return check_record(*record, {});
}

}  // namespace goodside::line
