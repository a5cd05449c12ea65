#include "trace/check_family.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <string>
#include <tuple>
#include <unordered_map>
#include <utility>

namespace goodside::trace {
namespace {

using works::FamilyPartKind;

const char* name_of(FamilyPartKind kind) {
  switch (kind) {
    case FamilyPartKind::cut:
      return "cut";
    case FamilyPartKind::father:
      return "father";
    case FamilyPartKind::mother:
      return "mother";
    case FamilyPartKind::stamper:
      return "stamper";
  }
  return "part";
}

class Checker {
 public:
  Checker(works::Family family,
          std::vector<works::HeardPlay> plays,
          std::vector<works::RefusedInput> refused)
      : out_{std::move(family), std::move(plays), std::move(refused)} {}

  Usable run() {
    check_parts();
    check_circles();
    check_discs();
    check_stock();
    check_steps();
    check_plays();
    check_remarks();
    return std::move(out_);
  }

 private:
  void refuse(std::string what, std::string why) {
    out_.refused.push_back({std::move(what), std::move(why)});
  }

  void check_parts() {
    auto& parts = out_.family.parts;
    std::erase_if(parts, [&](const auto& part) {
      if (part.id.empty()) {
        refuse("a part without an id", "nothing can name it; give it one");
        return true;
      }
      if (kinds_.emplace(part.id, part.kind).second) return false;
      refuse("part " + part.id, "given twice; the first stands, give the other its own id");
      return true;
    });
    for (auto& part : parts) {
      if (part.parent.empty()) continue;
      const auto parent = kinds_.find(part.parent);
      if (parent == kinds_.end()) {
        refuse("part " + part.id,
               fmt::format("its parent {} is no part of the family; it is taken to have none",
                           part.parent));
      } else if (parent->second >= part.kind && part.parent != part.id) {
        refuse("part " + part.id,
               fmt::format("a {} does not grow from {}, a {}; it is taken to have no parent",
                           name_of(part.kind),
                           part.parent,
                           name_of(parent->second)));
        in_question_.insert(part.id);
        continue;
      } else {
        continue;
      }
      part.parent.clear();
    }
  }

  /// A circle needs a link that goes the wrong way: those were noted, and are cut here. Where they
  /// close a circle that is said instead.
  void check_circles() {
    std::unordered_map<std::string, std::string> parent_of;
    for (const auto& part : out_.family.parts) parent_of[part.id] = part.parent;
    for (auto& part : out_.family.parts) {
      std::string circle = part.id;
      std::string at = part.parent;
      std::size_t steps = 0;
      while (!at.empty() && at != part.id && steps++ < parent_of.size()) {
        circle += " from " + at;
        at = parent_of[at];
      }
      const bool closes = !at.empty() && at == part.id;
      if (closes) {
        std::erase_if(out_.refused, [&](const auto& one) { return one.what == "part " + part.id; });
        refuse("part " + part.id,
               fmt::format("it descends from itself ({} from {}); this parent is left out, "
                           "correct it",
                           circle,
                           part.id));
      }
      if (closes || in_question_.contains(part.id)) {
        part.parent.clear();
        parent_of[part.id].clear();
      }
    }
  }

  [[nodiscard]] bool is_stamper(const std::string& id) const {
    const auto part = kinds_.find(id);
    return part != kinds_.end() && part->second == FamilyPartKind::stamper;
  }

  void check_discs() {
    std::erase_if(out_.family.discs, [&](auto& disc) {
      if (disc.id.empty()) {
        refuse("a disc without an id", "no report can name it; give it one");
        return true;
      }
      if (known_discs_.contains(disc.id)) {
        refuse("disc " + disc.id, "given twice; the first stands");
        return true;
      }
      for (const auto& stamper : disc.stamper) {
        if (stamper.empty() || is_stamper(stamper)) continue;
        refuse("disc " + disc.id,
               kinds_.contains(stamper)
                   ? fmt::format("{} is no stamper; name the stamper that pressed it", stamper)
                   : fmt::format("its stamper {} is no part of the family; add the part", stamper));
        bad_discs_.insert(disc.id);
        return true;
      }
      if (disc.impression &&
          (disc.impression->first < 1 || disc.impression->last < disc.impression->first)) {
        refuse("disc " + disc.id,
               fmt::format("impressions {} to {} cannot be; it is taken as not known",
                           disc.impression->first,
                           disc.impression->last));
        disc.impression.reset();
      }
      if (disc.stamper[0].empty() && disc.stamper[1].empty())
        refuse("disc " + disc.id,
               "no stamper is told for it; it is weighed over every stamper that it may have come "
               "from");
      known_discs_.insert(disc.id);
      return false;
    });
  }

  void check_stock() {
    std::erase_if(out_.family.stock, [&](const auto& stock) {
      if (stock.impressions.first >= 1 && stock.impressions.last >= stock.impressions.first)
        return false;
      refuse(
          stock.carton.empty() ? "spindle " + stock.spindle : "carton " + stock.carton,
          fmt::format(
              "impressions {} to {} cannot be", stock.impressions.first, stock.impressions.last));
      return true;
    });
  }

  void check_steps() {
    std::erase_if(out_.family.steps, [&](const auto& step) {
      // A mounting of which no disc is known is nothing wrong, and tells nothing.
      if (step.part.empty() || kinds_.contains(step.part)) return false;
      refuse(fmt::format("step \"{}\"", step.what),
             fmt::format("{} is no part of the family", step.part));
      return true;
    });
  }

  void check_plays() {
    std::set<std::tuple<std::string, works::DiscSide, std::int64_t>> seen;
    std::erase_if(out_.plays, [&](auto& play) {
      const std::string what = play.file.empty() ? "report of disc " + play.disc : play.file;
      if (!known_discs_.contains(play.disc)) {
        refuse(what,
               bad_discs_.contains(play.disc)
                   ? fmt::format("its disc {} was put aside", play.disc)
                   : fmt::format("disc {} is not among the family's discs; add it", play.disc));
        return true;
      }
      if (!seen.emplace(play.disc, play.side, play.play).second) {
        refuse(what,
               fmt::format("a second report of play {} of disc {}, side {}; the first stands",
                           play.play,
                           play.disc,
                           play.side == works::DiscSide::A ? "A" : "B"));
        return true;
      }
      if (!(play.length_s > 0.0) || !std::isfinite(play.length_s)) {
        refuse(what, "the length of its cut is not told; listen with the cut again");
        return true;
      }
      drop_outside(play, what);
      return false;
    });
  }

  void drop_outside(works::HeardPlay& play, const std::string& what) {
    constexpr double beyond_s = 0.5;  // a tick on the last sample, placed with its jitter
    const std::size_t before = play.faults.size();
    double worst_s = 0.0;
    std::erase_if(play.faults, [&](const auto& fault) {
      const bool inside =
          fault.programme_s >= -beyond_s && fault.programme_s <= play.length_s + beyond_s;
      if (!inside) worst_s = fault.programme_s;
      return !inside;
    });
    if (play.faults.size() == before) return;
    refuse(what,
           fmt::format("{} fault{} outside the cut's 0 to {:.1f} s ({:.1f} s), left out; was it "
                       "heard against another cut?",
                       before - play.faults.size(),
                       before - play.faults.size() == 1 ? "" : "s",
                       play.length_s,
                       worst_s));
  }

  void check_remarks() {
    std::erase_if(out_.family.remarks, [&](const auto& remark) {
      if (!remark.disc.empty() && !known_discs_.contains(remark.disc)) {
        refuse(fmt::format("remark \"{}\"", remark.words),
               fmt::format("disc {} is not among the family's discs", remark.disc));
        return true;
      }
      if (!remark.programme_s && !(remark.angle_deg && remark.radius_m)) {
        refuse(fmt::format("remark \"{}\"", remark.words),
               "it names no place in the groove: give a time, or an angle and a radius");
        return true;
      }
      return false;
    });
  }

  Usable out_;
  std::unordered_map<std::string, FamilyPartKind> kinds_;
  std::set<std::string> known_discs_, bad_discs_, in_question_;
};

}  // namespace

Usable usable(works::Family family,
              std::vector<works::HeardPlay> plays,
              std::vector<works::RefusedInput> refused) {
  return Checker{std::move(family), std::move(plays), std::move(refused)}.run();
}

}  // namespace goodside::trace
