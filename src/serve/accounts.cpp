#include "serve/accounts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>

#include "base/sha256.hpp"
#include "ledger/value.hpp"
#include "line/read_fields.hpp"
#include "serve/passwords.hpp"

namespace goodside::serve {
namespace {

constexpr std::int64_t hour_ms = 3'600'000, longest_ms = 24 * hour_ms, idle_ms = 8 * hour_ms;
constexpr std::int64_t noted_each_ms = 60'000;  // a session's last request, in the store
constexpr int most_failures = 5;
constexpr std::int64_t failure_each_ms = 30'000;
constexpr std::size_t least_password = 10, longest_password = 200, longest_name = 40;
constexpr auto login_wait = std::chrono::seconds{5};

const std::vector<Role> every_role{
    Role::viewer, Role::listener, Role::station, Role::engineer, Role::clerk};

std::string written(const std::vector<Role>& roles) {
  std::string out;
  for (const Role role : roles) out += fmt::format("{}{}", out.empty() ? "" : ",", word(role));
  return out;
}

std::vector<Role> read_roles(std::string_view text) {
  std::vector<Role> roles;
  while (!text.empty()) {
    const auto comma = std::min(text.find(','), text.size());
    if (const auto role = read_role(text.substr(0, comma))) roles.push_back(*role);
    text.remove_prefix(std::min(comma + 1, text.size()));
  }
  return roles;
}

void check_name(const std::string& name) {
  if (name.empty() || name.size() > longest_name || !line::fit_text(name) ||
      name.find_first_of("\t\n") != std::string::npos || name.front() == ' ' || name.back() == ' ')
    throw Stop{422, fmt::format("name: give 1 to {} bytes in one line", longest_name)};
}

void check_password(const std::string& password) {
  if (password.size() < least_password || password.size() > longest_password)
    throw Stop{422,
               fmt::format("password: give {} to {} characters", least_password, longest_password)};
}

void check_roles(const std::vector<Role>& roles) {
  if (roles.empty()) throw Stop{422, "roles: give at least one"};
}

[[noreturn]] void too_many(std::int64_t wait_ms) {
  const int seconds = static_cast<int>((wait_ms + 999) / 1000);
  throw Stop{429, fmt::format("too many tries; wait {} s", seconds), seconds};
}

}  // namespace

Accounts::Accounts(Store& store, Clock clock, Note note)
    : store_{store},
      clock_{std::move(clock)},
      note_{std::move(note)},
      failures_{most_failures, failure_each_ms} {
  for (const auto& row : store_.ask(
           "SELECT name, roles, disabled, made_ms, last_seen_ms FROM account ORDER BY name")) {
    Account account{ledger::text(row[0]),
                    read_roles(ledger::text(row[1])),
                    ledger::whole(row[2]) != 0,
                    ledger::whole(row[3])};
    if (!ledger::is_null(row[4])) account.last_seen_ms = ledger::whole(row[4]);
    by_name_.emplace(account.name, std::move(account));
  }
  for (const auto& row : store_.ask("SELECT token, account, csrf, made_ms, last_ms FROM session"))
    live_.emplace(ledger::text(row[0]),
                  Live{ledger::text(row[1]),
                       ledger::text(row[2]),
                       ledger::whole(row[3]),
                       ledger::whole(row[4]),
                       ledger::whole(row[4])});
  if (by_name_.empty()) first_token_ = random_token();
}

bool Accounts::none() {
  const std::lock_guard lock{guard_};
  return by_name_.empty();
}

std::string Accounts::first_token() {
  const std::lock_guard lock{guard_};
  return first_token_;
}

std::string Accounts::kept(const std::string& password) {
  if (!tries_.try_acquire_for(login_wait)) too_many(1000);
  const auto secret = keep_password(password);
  tries_.release();
  if (!secret) throw Stop{503, "there is no memory for a password now; try again"};
  return *secret;
}

bool Accounts::try_password(const std::string& kept, const std::string& password) {
  if (!tries_.try_acquire_for(login_wait)) too_many(1000);
  const bool right = is_password(kept, password);
  tries_.release();
  return right;
}

void Accounts::take_try(const std::string& key) {
  if (const auto wait = failures_.take(key, clock_()); wait > 0) too_many(wait);
}

SignedIn Accounts::make_first(const std::string& token,
                              const std::string& name,
                              const std::string& password,
                              const std::string& from) {
  const std::lock_guard one_at_a_time{first_guard_};
  take_try(from);
  if (!none()) throw Stop{409, "the first account is there already; sign in"};
  if (!same_secret(token, first_token()))
    throw Stop{403, "this link is not the newest; use the one that the last start printed"};
  failures_.give_back(from);
  insert(name, name, password, every_role);
  const std::lock_guard lock{guard_};
  first_token_.clear();
  return begin(name);
}

void Accounts::insert(const std::string& by,
                      const std::string& name,
                      const std::string& password,
                      const std::vector<Role>& roles) {
  check_name(name);
  check_password(password);
  check_roles(roles);
  const std::string secret = kept(password);
  const std::lock_guard lock{guard_};
  if (by_name_.contains(name)) throw Stop{409, fmt::format("there is an account {} already", name)};
  note_(by, "account", name, written(roles));
  const std::int64_t now = clock_();
  store_.run(
      "INSERT INTO account (name, secret, roles, disabled, made_ms) VALUES ($1, $2, $3, 0, $4)",
      {name, secret, written(roles), now});
  by_name_.emplace(name, Account{name, roles, false, now});
}

SignedIn Accounts::begin(const std::string& name) {
  SignedIn begun;
  begun.token = random_token();
  const std::int64_t now = clock_();
  const Live live{name, random_token(), now, now, now};
  const std::string key = sha256_hexadecimal(begun.token);
  store_.in([&](ledger::Connection& connection) {
    connection.run("DELETE FROM session WHERE made_ms < $1 OR last_ms < $2",
                   {now - longest_ms, now - idle_ms});
    connection.run(
        "INSERT INTO session (token, account, csrf, made_ms, last_ms) VALUES ($1, $2, $3, $4, $4)",
        {key, name, live.csrf, now});
    connection.run("UPDATE account SET last_seen_ms = $1 WHERE name = $2", {now, name});
  });
  live_.emplace(key, live);
  Account& account = by_name_.at(name);
  account.last_seen_ms = now;
  begun.session = {name, account.roles, live.csrf, now + idle_ms};
  return begun;
}

SignedIn Accounts::sign_in(const std::string& name,
                           const std::string& password,
                           const std::string& from) {
  const std::string by_account = "account " + name.substr(0, longest_name);
  take_try(from);
  take_try(by_account);
  // A name that is not there takes as long as one that is.
  static const std::string nobody = keep_password("nobody's password").value_or("");
  const auto rows = store_.ask("SELECT secret, disabled FROM account WHERE name = $1", {name});
  const bool right = password.size() <= longest_password &&
                     try_password(rows.empty() ? nobody : ledger::text(rows[0][0]), password) &&
                     !rows.empty() && ledger::whole(rows[0][1]) == 0;
  if (!right) throw Stop{401, "name or password is wrong"};
  failures_.give_back(from);
  failures_.give_back(by_account);
  const std::lock_guard lock{guard_};
  return begin(name);
}

void Accounts::sign_out(const std::string& token) {
  const std::string key = sha256_hexadecimal(token);
  const std::lock_guard lock{guard_};
  live_.erase(key);
  store_.run("DELETE FROM session WHERE token = $1", {key});
}

Session Accounts::session(const std::string& token) {
  if (token.size() != 64) return {};
  const std::string key = sha256_hexadecimal(token);
  const std::lock_guard lock{guard_};
  const auto found = live_.find(key);
  if (found == live_.end()) return {};
  Live& live = found->second;
  const std::int64_t now = clock_();
  const auto account = by_name_.find(live.account);
  if (now - live.made_ms > longest_ms || now - live.last_ms > idle_ms ||
      account == by_name_.end() || account->second.disabled) {
    live_.erase(found);
    return {};
  }
  live.last_ms = now;
  if (now - live.stored_ms > noted_each_ms) {
    store_.run("UPDATE session SET last_ms = $1 WHERE token = $2", {now, key});
    live.stored_ms = now;
  }
  return {live.account,
          account->second.roles,
          live.csrf,
          std::min(live.made_ms + longest_ms, now + idle_ms)};
}

void Accounts::end_sessions(const std::string& name) {
  std::erase_if(live_, [&](const auto& one) { return one.second.account == name; });
  store_.run("DELETE FROM session WHERE account = $1", {name});
}

Account Accounts::add(const std::string& by,
                      const std::string& name,
                      const std::string& password,
                      const std::vector<Role>& roles) {
  insert(by, name, password, roles);
  const std::lock_guard lock{guard_};
  return find(name);
}

Account Accounts::find(const std::string& name) {
  const auto found = by_name_.find(name);
  if (found == by_name_.end()) throw Stop{404, fmt::format("there is no account {}", name)};
  return found->second;
}

Account Accounts::change(const std::string& by,
                         const std::string& name,
                         const AccountChange& change) {
  std::string secret;
  if (change.password) {
    check_password(*change.password);
    secret = kept(*change.password);
  }
  if (change.roles) check_roles(*change.roles);
  const std::lock_guard lock{guard_};
  Account after = find(name);
  if (change.roles) after.roles = *change.roles;
  if (change.disabled) after.disabled = *change.disabled;
  const auto keeps_accounts = [&](const Account& one) {
    return !one.disabled && std::ranges::find(one.roles, Role::engineer) != one.roles.end();
  };
  const bool another = std::ranges::any_of(
      by_name_, [&](const auto& one) { return one.first != name && keeps_accounts(one.second); });
  if (!keeps_accounts(after) && !another)
    throw Stop{409, "the last engineer must stay: nobody could keep the accounts"};
  note_(by,
        change.password ? "account password" : "account",
        name,
        after.disabled ? "disabled" : written(after.roles));
  store_.run("UPDATE account SET roles = $1, disabled = $2 WHERE name = $3",
             {written(after.roles), std::int64_t{after.disabled}, name});
  if (!secret.empty()) store_.run("UPDATE account SET secret = $1 WHERE name = $2", {secret, name});
  if (!secret.empty() || after.disabled) end_sessions(name);
  by_name_.insert_or_assign(name, after);
  return after;
}

SignedIn Accounts::change_own(const std::string& name,
                              const std::string& old_password,
                              const std::string& new_password) {
  check_password(new_password);
  const std::string key = "account " + name;
  take_try(key);
  const auto rows = store_.ask("SELECT secret FROM account WHERE name = $1", {name});
  if (rows.empty() || old_password.size() > longest_password ||
      !try_password(ledger::text(rows[0][0]), old_password))
    throw Stop{422, "old: this is not your password"};
  failures_.give_back(key);
  const std::string secret = kept(new_password);
  const std::lock_guard lock{guard_};
  note_(name, "account password", name, written(find(name).roles));
  store_.run("UPDATE account SET secret = $1 WHERE name = $2", {secret, name});
  end_sessions(name);
  return begin(name);
}

std::vector<Account> Accounts::all() {
  const std::lock_guard lock{guard_};
  std::vector<Account> list;
  for (const auto& [name, account] : by_name_) list.push_back(account);
  return list;
}

}  // namespace goodside::serve
