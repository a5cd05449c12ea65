#pragma once
#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "works/disc_plays.hpp"
#include "works/holding.hpp"
#include "works/trace_costs.hpp"

namespace goodside::works {

// The contract goodside.family/1 as plain structs: the metal and discs that descend from one cut,
// and what was heard of them. An empty text is the contract's null: not known. Impressions are one
// count a title over all presses; what is known only as a range is an interval, exact when both ends
// meet.

enum class FamilyPartKind { cut, father, mother, stamper };

/// One face of a disc; index into what a disc has twice.
enum class DiscSide { A, B };
[[nodiscard]] constexpr std::size_t index_of(DiscSide side) {
  return side == DiscSide::A ? 0 : 1;
}

struct FamilyPart {
  std::string id;
  FamilyPartKind kind{FamilyPartKind::stamper};
  std::string parent;                 ///< empty: none, or not known
  std::optional<std::int64_t> grown;  ///< ordinal among its siblings, from 1
  std::string material, facing;       ///< of a stamper, where they are told
};

/// A disc that was heard, or that can still be.
struct FamilyDisc {
  std::string id;
  std::array<std::string, 2> stamper;  ///< by side
  std::string mounting;
  std::optional<Impressions> impression;
  std::string press, batch, spindle, carton, shift, recipe, run;
  bool fetchable{};  ///< it can still be fetched and heard

  [[nodiscard]] const std::string& stamper_of(DiscSide side) const {
    return stamper[index_of(side)];
  }
};

/// Discs that nobody has singled out: a carton or a spindle, known as a range.
struct FamilyStock {
  std::string carton, spindle;  ///< one of them
  Impressions impressions;
  bool fetchable{};
};

/// Something done to a part or a mounting: a likely place for an onset or an end.
struct FamilyStep {
  std::string part, mounting;               ///< one of them
  std::optional<Impressions> at;            ///< before the first impression of this
  std::string time;                         ///< ISO 8601, where only that is known
  std::optional<std::int64_t> after_grown;  ///< of a part that grows others: after its n-th
  std::string what;                         ///< "washed", "repaired", "faced again", "cleaned" …
};

/// One listening report of one play.
struct FamilyReport {
  std::string disc;
  DiscSide side{};
  std::int64_t play{1};
  After after{After::as_found};
  std::string file;
};

/// What a listener, an inspector or a customer said.
struct FamilyRemark {
  std::string disc, carton, run;  ///< one of them; all empty: some disc of the title
  DiscSide side{};
  std::optional<double> programme_s;
  double within_s{5.0};                       ///< half of the window it may lie in
  std::optional<double> angle_deg, radius_m;  ///< of a visual finding
  std::optional<double> reliability;          ///< that what was said is so, 0..1
  std::string words, from;
};

struct Family {
  std::vector<FamilyPart> parts;
  std::vector<FamilyDisc> discs;
  std::vector<FamilyStock> stock;
  std::vector<FamilyStep> steps;
  std::vector<FamilyReport> reports;
  std::vector<FamilyRemark> remarks;
  TraceCosts costs;
};

}  // namespace goodside::works
