#pragma once
#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.hpp"

namespace goodside::works {

/// Where a disc can be. `press` is the other side of the account: it holds minus the impressions
/// made, so that the sum over all places is always nought.
enum class Place {
  press,
  pressed,
  edge_finished,
  in_sample,
  good_stock,
  suspect,
  packed,
  shipped,
  scrap,
  unaccounted
};
[[nodiscard]] std::string_view word(Place);
/// Errors: Fault::bad_input, naming the places there are.
Result<Place> read_place(std::string_view typed);

/// Impressions `first` to `last` of one run, both included; exact when they are equal.
struct Impressions {
  std::int64_t first{}, last{};
  [[nodiscard]] std::int64_t width() const { return last - first + 1; }
  [[nodiscard]] bool within(const Impressions& other) const {
    return first >= other.first && last <= other.last;
  }
  [[nodiscard]] bool meets(const Impressions& other) const {
    return first <= other.last && last >= other.first;
  }
  auto operator<=>(const Impressions&) const = default;
};

/// A place with what tells stock in it apart.
struct Spot {
  Place place{Place::pressed};
  std::string at;      ///< code of the spindle, carton, ticket or shipment; may be empty
  std::string reason;  ///< why it is scrap, suspect or unaccounted; else empty
  /// Suspect stock: where it goes back to when it is let go.
  std::optional<Place> from;
  auto operator<=>(const Spot&) const = default;
};

/// `quantity` discs of one run at one spot, whose impressions lie in the interval. Where quantity
/// and width agree, every disc of the interval is there.
struct Holding {
  Impressions impressions;
  Spot spot;
  std::int64_t quantity{};
  [[nodiscard]] bool exact() const { return quantity == impressions.width(); }
  auto operator<=>(const Holding&) const = default;
};

/// A posting of the ledger: from a spot to a spot, never one without the other.
struct Movement {
  std::string run;
  Impressions impressions;
  std::int64_t quantity{};
  Spot from, to;
};

/// All holdings of one run, and what a movement does to them. Exact ranges at one spot that touch
/// are kept as one. Sum of quantities over all spots but
/// the press equals the impressions made, whatever is posted.
class RunStock {
 public:
  RunStock() = default;
  explicit RunStock(std::vector<Holding> holdings);

  /// Posts it or, with the reason, leaves all as it was.
  /// - from the press: the impressions must follow the last one made, all of them;
  /// - else a holding at the spot must enclose the interval (it is split: exact remainders where it
  ///   was exact), or several there must hold the quantity between them (they are mixed: which of
  ///   them the discs came from is not known, so what stays lies anywhere in the interval);
  /// - the quantity must fit the interval, and the interval the other stock of the run (no
  ///   interval holds more discs than impressions);
  /// - to and from `unaccounted` the balance may become negative: a recount that found more.
  /// Errors: Fault::conflict (not there), Fault::bad_input (impossible figures).
  Outcome post(const Movement&);

  [[nodiscard]] const std::vector<Holding>& holdings() const { return holdings_; }  ///< in order
  [[nodiscard]] std::int64_t made() const { return made_; }
  /// The sum over all places; made() unless the ledger is broken.
  [[nodiscard]] std::int64_t sum() const;
  /// An interval that holds more discs than impressions; nothing when every disc can be somewhere.
  [[nodiscard]] std::optional<Impressions> overfull() const;

 private:
  void add(Holding more);
  std::vector<Holding>::iterator find_source(const Movement&);
  /// Discs of several holdings at one spot, of which nobody knows from which of them: what stays and
  /// what goes lies anywhere in the interval from then on.
  bool take_mixed(const Movement&);
  void keep_rest(const Holding& taken, const Impressions& wanted, std::int64_t quantity);
  [[nodiscard]] Error not_there(const Movement&) const;
  std::vector<Holding> holdings_;
  std::int64_t made_{};
};

}  // namespace goodside::works
