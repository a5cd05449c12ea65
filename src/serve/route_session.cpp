#include <fmt/format.h>

#include <algorithm>

#include "serve/board.hpp"
#include "serve/nodes.hpp"

namespace goodside::serve {
namespace {

json::Node roles_node(const std::vector<Role>& roles) {
  List list;
  for (const Role role : roles) list.emplace_back(std::string{word(role)});
  return list;
}

json::Node session_node(const Session& session, bool first_start) {
  return Object{
      {"signed_in", session.signed_in()},
      {"first_start", first_start},
      {"name", or_null(session.name)},
      {"roles", roles_node(session.roles)},
      {"csrf", or_null(session.csrf)},
      {"expires_ms", session.signed_in() ? json::Node{session.expires_ms} : json::Node{}}};
}

/// Sent by the browser to this server alone, never to scripts, not from other sites' pages.
std::string cookie(const std::string& token, bool secure, const char* age) {
  return fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict{}{}",
                     session_cookie(secure),
                     token,
                     secure ? "; Secure" : "",
                     age);
}

Answer signed_in(const SignedIn& begun, bool secure, int status) {
  Answer done = answer(session_node(begun.session, false), status);
  done.headers.emplace_back("Set-Cookie", cookie(begun.token, secure, "; Max-Age=86400"));
  return done;
}

std::vector<Role> read_roles(const List& list) {
  std::vector<Role> roles;
  for (const json::Node& one : list) {
    const auto* text = std::get_if<std::string>(&one.value);
    const auto role = text == nullptr ? std::nullopt : read_role(*text);
    if (!role)
      throw Stop{422, "roles: give viewer, listener, station, engineer or clerk, one or several"};
    if (std::ranges::find(roles, *role) == roles.end()) roles.push_back(*role);
  }
  return roles;
}

json::Node account_node(const Account& account) {
  return Object{{"name", account.name},
                {"roles", roles_node(account.roles)},
                {"disabled", account.disabled},
                {"made_ms", account.made_ms},
                {"last_seen_ms", or_null(account.last_seen_ms)}};
}

Answer change_account(Board& board, Asked& asked) {
  const Body body{asked};
  AccountChange change;
  if (body.has("roles")) change.roles = read_roles(body.list("roles"));
  if (body.has("password")) change.password = body.text("password");
  if (body.has("disabled")) change.disabled = body.truth("disabled");
  return answer(
      account_node(board.accounts.change(asked.session.name, asked.part("name"), change)));
}

}  // namespace

std::vector<Route> session_routes(Board& board) {
  const std::vector<Role> keeper{Role::engineer};
  return {
      {.method = "GET",
       .path = "/api/health",
       .open = true,
       .own_tag = true,
       .run =
           [&](Asked&) {
             return answer(Object{{"version", GOODSIDE_VERSION},
                                  {"works", board.place.name},
                                  {"zone", board.place.zone}});
           }},
      {.method = "GET",
       .path = "/api/session",
       .open = true,
       .own_tag = true,
       .run =
           [&](Asked& asked) {
             return answer(session_node(asked.session, board.accounts.none()));
           }},
      {.method = "POST",
       .path = "/api/first",
       .open = true,
       .run =
           [&](Asked& asked) {
             const Body body{asked};
             return signed_in(
                 board.accounts.make_first(
                     body.text("token"), body.text("name"), body.text("password"), asked.from),
                 board.secure,
                 201);
           }},
      {.method = "POST",
       .path = "/api/sign-in",
       .open = true,
       .run =
           [&](Asked& asked) {
             const Body body{asked};
             return signed_in(
                 board.accounts.sign_in(body.text("name"), body.text("password"), asked.from),
                 board.secure,
                 200);
           }},
      {.method = "POST",
       .path = "/api/sign-out",
       .run =
           [&](Asked& asked) {
             board.accounts.sign_out(asked.token);
             Answer done = nothing();
             done.headers.emplace_back("Set-Cookie", cookie("", board.secure, "; Max-Age=0"));
             return done;
           }},
      {.method = "POST",
       .path = "/api/password",
       .run =
           [&](Asked& asked) {
             const Body body{asked};
             return signed_in(
                 board.accounts.change_own(asked.session.name, body.text("old"), body.text("new")),
                 board.secure,
                 200);
           }},
      {.method = "GET",
       .path = "/api/accounts",
       .roles = keeper,
       .own_tag = true,
       .run =
           [&](Asked&) {
             List list;
             for (const Account& account : board.accounts.all())
               list.push_back(account_node(account));
             return answer(Object{{"accounts", std::move(list)}});
           }},
      {.method = "POST",
       .path = "/api/accounts",
       .roles = keeper,
       .run =
           [&](Asked& asked) {
             const Body body{asked};
             return answer(account_node(board.accounts.add(asked.session.name,
                                                           body.text("name"),
                                                           body.text("password"),
                                                           read_roles(body.list("roles")))),
                           201);
           }},
      {.method = "PUT",
       .path = "/api/accounts/{name}",
       .roles = keeper,
       .run = [&](Asked& asked) { return change_account(board, asked); }},
  };
}

}  // namespace goodside::serve
