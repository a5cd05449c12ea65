#pragma once
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "ledger/connection.hpp"
#include "ledger/row.hpp"

namespace goodside::ledger {

/// An entry of the log. `hash` = SHA-256 of  previous ⏎ seq ⏎ at_ms ⏎ who ⏎ what ⏎ subject ⏎
/// reverses (empty or a number) ⏎ body, as 64 hexadecimal digits; `previous` is the hash of the
/// entry before, 64 noughts for the first.
struct Event {
  std::int64_t seq{}, at_ms{};
  std::string who, what, subject;
  std::optional<std::int64_t> reverses{};
  std::string body{}, previous{}, hash{};
};

/// The newest entry: what is printed on papers and kept with backups.
struct Head {
  std::int64_t seq{};
  std::string hash{std::string(64, '0')};
  bool operator==(const Head&) const = default;
};

[[nodiscard]] std::string hash_of(const Event&);

// All throw StoreFailure.
[[nodiscard]] Head head_of(Connection&);
void append(Connection&, const Event&);
/// Entries from `first` on, in order.
void each_event(Connection&, std::int64_t first, const std::function<void(const Event&)>& take);
/// At most `count` of them: the connection is free again while they are looked at.
[[nodiscard]] std::vector<Event> events_from(Connection&, std::int64_t first, std::int64_t count);
/// Nothing when there is no such entry.
[[nodiscard]] std::optional<Event> event_of(Connection&, std::int64_t seq);
/// The newest entries whose subject is `subject`, newest first; an empty subject: all entries.
/// `before`: only older ones than this entry; 0: from the newest on.
[[nodiscard]] std::vector<Event> newest_events(Connection&,
                                               const std::string& subject,
                                               std::int64_t count,
                                               std::int64_t before = 0);

}  // namespace goodside::ledger
