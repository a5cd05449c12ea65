#pragma once
#include <stdexcept>
#include <type_traits>
#include <utility>
#include <variant>

#include "base/error.hpp"

namespace goodside {

/// A value or the Error that stands in its place, under std::expected's member names so that one
/// alias retires it later. Dereferencing a failed one throws std::logic_error: asking without
/// looking is a bug.
template <class T>
class [[nodiscard]] Result {
 public:
  using value_type = T;

  Result(T value) : held_{std::in_place_index<0>, std::move(value)} {}
  Result(Error error) : held_{std::in_place_index<1>, std::move(error)} {}

  [[nodiscard]] bool has_value() const noexcept { return held_.index() == 0; }
  explicit operator bool() const noexcept { return has_value(); }

  [[nodiscard]] T& value() & { return checked(*this); }
  [[nodiscard]] const T& value() const& { return checked(*this); }
  [[nodiscard]] T&& value() && { return std::move(checked(*this)); }
  [[nodiscard]] T& operator*() & { return value(); }
  [[nodiscard]] const T& operator*() const& { return value(); }
  [[nodiscard]] T&& operator*() && { return std::move(*this).value(); }
  [[nodiscard]] T* operator->() { return &value(); }
  [[nodiscard]] const T* operator->() const { return &value(); }

  [[nodiscard]] const Error& error() const { return std::get<1>(held_); }
  [[nodiscard]] T value_or(T other) const& { return has_value() ? value() : std::move(other); }

 private:
  template <class Self>
  static auto& checked(Self& self) {
    if (!self.has_value()) throw std::logic_error("a failed Result was read: " + self.error().text);
    return std::get<0>(self.held_);
  }

  std::variant<T, Error> held_;
};

struct Done {};
/// The Result of an action that yields nothing: `return Done{};` or an Error.
using Outcome = Result<Done>;

}  // namespace goodside
