#pragma once
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/result.hpp"
#include "json/node.hpp"
#include "serve/session.hpp"

namespace goodside::serve {

/// Stops a request with an answer of its own; everything else that may go wrong is an Error.
struct Stop {
  int status{};
  std::string text;
  std::optional<int> retry_after_s{};
};

/// The one table from Fault to HTTP status.
[[nodiscard]] int status_of(Fault fault);

/// The value, or a Stop with its error.
template <class T>
T or_stop(Result<T> result) {
  if (!result) throw Stop{status_of(result.error().fault), result.error().text};
  return std::move(*result);
}

/// Names of headers compare without regard to case [RFC 9110, 5.1].
struct HeaderOrder {
  bool operator()(std::string_view a, std::string_view b) const;
};
using Headers = std::map<std::string, std::string, HeaderOrder>;

/// Hands the body on in pieces until it ends or `take` says no; false when the sender broke off.
using BodyReader = std::function<bool(const std::function<bool(std::string_view)>& take)>;

/// One request, whatever carried it.
struct Asked {
  std::string method, path, from;  ///< from: the sender's address
  std::map<std::string, std::string, std::less<>> query{};
  std::map<std::string, std::string, std::less<>> named{};  ///< parts of the path, by the route
  Headers headers{};
  std::string body{};      ///< of requests that carry JSON
  BodyReader read_body{};  ///< of routes that stream
  Session session{};       ///< who asks; no name: nobody is signed in
  std::string token{};     ///< of that session

  [[nodiscard]] std::string header(std::string_view name) const;
  [[nodiscard]] const std::string& part(std::string_view name) const;
  [[nodiscard]] std::optional<std::string> asked_for(std::string_view name) const;
  /// A whole number of the query. Stops with 400 where it is none or outside.
  [[nodiscard]] std::int64_t number(std::string_view name,
                                    std::int64_t low,
                                    std::int64_t high,
                                    std::int64_t otherwise) const;
  [[nodiscard]] std::optional<double> real(std::string_view name) const;
};

struct Answer {
  int status{200};
  std::string type{}, body{};
  std::vector<std::pair<std::string, std::string>> headers{};
  bool packed{};  ///< the body is compressed already
  bool close{};   ///< what the sender still has to send is not read: the connection ends
};

[[nodiscard]] Answer answer(const json::Node& node, int status = 200);
[[nodiscard]] Answer refusal(int status, const std::string& text);
[[nodiscard]] Answer nothing();  ///< 204

/// The whole body, or the one range that was asked for [RFC 9110, 14]: 206, or 416 where it lies
/// outside. Of several ranges the whole is sent.
[[nodiscard]] Answer ranged(Answer whole, const std::string& range);

/// A number of text, all of it.
[[nodiscard]] std::optional<std::int64_t> whole_number(std::string_view text);

}  // namespace goodside::serve
