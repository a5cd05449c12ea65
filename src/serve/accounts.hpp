#pragma once
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <semaphore>
#include <string>
#include <vector>

#include "serve/asked.hpp"
#include "serve/session.hpp"
#include "serve/store.hpp"
#include "serve/throttle.hpp"

namespace goodside::serve {

struct Account {
  std::string name;
  std::vector<Role> roles;
  bool disabled{};
  std::int64_t made_ms{};
  std::optional<std::int64_t> last_seen_ms{};
};

/// A session as it begins: the secret that the cookie carries stands nowhere else.
struct SignedIn {
  std::string token;
  Session session;
};

struct AccountChange {
  std::optional<std::vector<Role>> roles{};
  std::optional<std::string> password{};
  std::optional<bool> disabled{};
};

/// Who may do what. Passwords are kept as argon2id, at most two are tried at once, failures are
/// rationed by address and by name; sessions end 24 h after they began and 8 h after the last
/// request. The store holds only a session token's SHA-256. Everything throws Stop.
class Accounts {
 public:
  using Clock = std::function<std::int64_t()>;
  /// A change of accounts, for the record's log: what, and of whom. It comes before the change.
  using Note = std::function<void(const std::string& who,
                                  const std::string& what,
                                  const std::string& name,
                                  const std::string& roles)>;

  Accounts(Store& store, Clock clock, Note note);

  /// No account is there yet.
  [[nodiscard]] bool none();
  /// What the one-time link carries; empty once an account is there.
  [[nodiscard]] std::string first_token();
  /// The first account, which may do everything.
  SignedIn make_first(const std::string& token,
                      const std::string& name,
                      const std::string& password,
                      const std::string& from);

  SignedIn sign_in(const std::string& name, const std::string& password, const std::string& from);
  void sign_out(const std::string& token);
  /// Nobody where the token is unknown or has run out.
  [[nodiscard]] Session session(const std::string& token);

  Account add(const std::string& by,
              const std::string& name,
              const std::string& password,
              const std::vector<Role>& roles);
  /// Ends the account's sessions where the password or the right to sign in changed.
  Account change(const std::string& by, const std::string& name, const AccountChange& change);
  /// One's own; the other sessions end, a new one begins.
  SignedIn change_own(const std::string& name,
                      const std::string& old_password,
                      const std::string& new_password);
  [[nodiscard]] std::vector<Account> all();

 private:
  struct Live {
    std::string account, csrf;
    std::int64_t made_ms{}, last_ms{}, stored_ms{};
  };
  void take_try(const std::string& key);
  SignedIn begin(const std::string& name);
  void end_sessions(const std::string& name);
  [[nodiscard]] Account find(const std::string& name);
  void insert(const std::string& by,
              const std::string& name,
              const std::string& password,
              const std::vector<Role>& roles);
  [[nodiscard]] bool try_password(const std::string& kept, const std::string& password);
  [[nodiscard]] std::string kept(const std::string& password);

  Store& store_;
  Clock clock_;
  Note note_;
  std::mutex first_guard_, guard_;
  std::map<std::string, Live> live_;        ///< by the token's SHA-256
  std::map<std::string, Account> by_name_;  ///< all accounts
  std::string first_token_;
  std::counting_semaphore<2> tries_{2};
  Throttle failures_;
};

}  // namespace goodside::serve
