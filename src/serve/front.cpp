#include "serve/front.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "serve/jobs.hpp"
#include "serve/passwords.hpp"

namespace goodside::serve {
namespace {

constexpr std::size_t largest_body = 64 * 1024;

bool changes(const Asked& asked) {
  return asked.method != "GET" && asked.method != "HEAD";
}

/// The value of one cookie.
std::string cookie_of(const Asked& asked, std::string_view name) {
  const std::string all = asked.header("Cookie");
  std::string_view rest{all};
  while (!rest.empty()) {
    const auto end = std::min(rest.find(';'), rest.size());
    std::string_view one = rest.substr(0, end);
    while (one.starts_with(' ')) one.remove_prefix(1);
    const auto equals = one.find('=');
    if (equals != std::string_view::npos && one.substr(0, equals) == name)
      return std::string{one.substr(equals + 1)};
    rest.remove_prefix(std::min(end + 1, rest.size()));
  }
  return {};
}

/// A page of another site must not act here, not even with the cookie that a browser would send.
void check_origin(const Asked& asked, bool secure) {
  const std::string site = asked.header("Sec-Fetch-Site");
  if (!site.empty() && site != "same-origin" && site != "none")
    throw Stop{403, "requests of other sites' pages are not taken"};
  const std::string origin = asked.header("Origin");
  if (!origin.empty() && origin != (secure ? "https://" : "http://") + asked.header("Host"))
    throw Stop{403, "requests of other sites' pages are not taken"};
}

void read_small_body(Asked& asked) {
  if (!asked.read_body) return;
  bool too_much = false;
  const bool whole = asked.read_body([&](std::string_view bytes) {
    too_much = too_much || asked.body.size() + bytes.size() > largest_body;
    if (!too_much) asked.body += bytes;
    return true;
  });
  asked.read_body = {};
  if (too_much) throw Stop{413, fmt::format("the request has more than {} bytes", largest_body)};
  if (!whole) throw Stop{400, "the request broke off"};
  if (asked.body.empty()) return;
  if (!asked.header("Content-Type").starts_with("application/json"))
    throw Stop{415, "Content-Type: send application/json"};
}

/// False where there is more of the body than a small one, or it broke off.
bool read_away(Asked& asked) {
  const auto length = whole_number(asked.header("Content-Length"));
  if (!length || static_cast<std::size_t>(*length) > largest_body) return false;
  return asked.read_body([](std::string_view) { return true; });
}

Answer stopped(const Stop& stop) {
  Answer answer = refusal(stop.status, stop.text);
  if (stop.retry_after_s)
    answer.headers.emplace_back("Retry-After", fmt::format("{}", *stop.retry_after_s));
  return answer;
}

}  // namespace

Front::Front(Board& board, Router router, Pages pages, Door door)
    : board_{board}, router_{std::move(router)}, pages_{std::move(pages)}, door_{std::move(door)} {}

Answer Front::answer(Asked& asked) const {
  Answer out;
  try {
    check_host(asked);
    if (asked.path.starts_with("/api/") || asked.path == "/api")
      out = of_api(asked);
    else if (changes(asked))
      throw Stop{405, "only /api takes this method"};
    else
      out = pages_.answer(asked);
  } catch (const Stop& stop) {
    out = stopped(stop);
  } catch (const ledger::Refused& refused) {
    out = refusal(status_of(refused.error.fault), refused.error.text);
  } catch (const ledger::StoreFailure& failure) {
    out = refusal(503, ledger::told(failure).text);
  } catch (const std::bad_alloc&) {
    out = refusal(503, "out of memory; try again");
  } catch (const std::exception& failure) {
    out = refusal(500, fmt::format("this is our own fault ({})", failure.what()));
  }
  // A body that nobody read would be taken for the next request: a small one is read after all, a
  // great one ends the connection.
  if (asked.read_body && !read_away(asked)) out.close = true;
  return out;
}

void Front::check_host(const Asked& asked) const {
  if (door_.hosts.empty()) return;
  std::string host = asked.header("Host");
  if (const auto port = host.rfind(':'); port != std::string::npos && !host.ends_with(']'))
    host.erase(port);
  if (std::ranges::find(door_.hosts, host) == door_.hosts.end())
    throw Stop{421, fmt::format("this server is not called \"{}\"", host.substr(0, 60))};
}

Answer Front::of_api(Asked& asked) const {
  bool known = false;
  const Route* const route = router_.find(asked, known);
  if (route == nullptr) {
    if (known) throw Stop{405, fmt::format("{} is not for this path", asked.method)};
    throw Stop{404, "there is no such path; docs/api/openapi.json lists them"};
  }
  let_in(asked, *route);
  if (changes(asked) && !route->streams) read_small_body(asked);
  if (!changes(asked)) return with_tag(asked, *route);
  return route->run(asked);
}

void Front::let_in(Asked& asked, const Route& route) const {
  asked.token = cookie_of(asked, session_cookie(door_.secure));
  asked.session = board_.accounts.session(asked.token);
  if (changes(asked)) check_origin(asked, door_.secure);
  if (route.open) return;
  if (!asked.session.signed_in()) throw Stop{401, "sign in first"};
  if (!asked.session.may(route.roles)) {
    std::string roles;
    for (const Role role : route.roles)
      roles += (roles.empty() ? "" : " or ") + std::string{word(role)};
    throw Stop{403, fmt::format("this is for {} only", roles)};
  }
  if (changes(asked) && !same_secret(asked.header("X-CSRF-Token"), asked.session.csrf))
    throw Stop{403, "X-CSRF-Token is missing or old; ask /api/session for it"};
}

/// What the record tells is the same until its next entry.
Answer Front::with_tag(Asked& asked, const Route& route) const {
  if (route.own_tag) return route.run(asked);
  const ledger::Head head = board_.records.head();
  std::string tag = fmt::format("\"{}-{}", head.seq, head.hash.substr(0, 12));
  if (route.with_jobs) tag += fmt::format("-{}", board_.jobs.version());
  tag += '"';
  Answer out = asked.header("If-None-Match") == tag ? Answer{.status = 304} : route.run(asked);
  if (out.status < 400) out.headers.emplace_back("ETag", tag);
  return out;
}

}  // namespace goodside::serve
