#pragma once
#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "trace/family_index.hpp"
#include "works/family.hpp"
#include "works/heard_play.hpp"

namespace goodside::trace {

/// Numbers one side of a family: heard discs and units (family_index.cpp), the runs of the presses
/// (index_runs.cpp), what grew from what and what was done to it (index_metal.cpp), which disc is a
/// member of what (index_members.cpp).
class Indexer {
 public:
  Indexer(const works::Family& family,
          std::span<const works::HeardPlay> plays,
          works::DiscSide side)
      : family_{family}, plays_{plays}, side_{side} {
    index_.side = side;
  }

  FamilyIndex run();

 private:
  void number_heard();
  void find_reach();
  int unit(Level level, const std::string& id);
  void number_stampers();
  void number_others();
  void find_presses();
  void find_starts();

  struct Placed {
    std::int64_t at;
    std::size_t disc;
  };
  void find_segments();
  [[nodiscard]] int known_unit(Level level, const std::string& id) const;
  void find_runs(const std::vector<Placed>& placed);
  static void reach_into(Unit& one, const works::Impressions& range);
  void add_segment(int number, const Segment& segment);
  void join_segments(Unit& one) const;
  void number_growers();
  void hang_children(const std::unordered_map<std::string, std::size_t>& part_of);
  void find_steps();
  [[nodiscard]] std::int64_t first_of(int child) const;
  void add_member(int number, int heard, const works::FamilyDisc& disc, double share);
  void add_loose(int heard, const works::FamilyDisc& disc);
  void add_to_mountings(int heard, const works::FamilyDisc& disc);
  void add_to_batches(int heard, const works::FamilyDisc& disc);
  void list_mountings();
  void find_members();
  void count_nodes();

  const works::Family& family_;
  std::span<const works::HeardPlay> plays_;
  works::DiscSide side_;
  FamilyIndex index_;
  std::int64_t last_{0};
  std::map<std::pair<Level, std::string>, int> number_of_;
  std::vector<std::string> press_;  ///< of each disc, inferred where it is not told
  std::unordered_map<std::string, std::int64_t> start_of_;  ///< of a mounting: first impression
  std::unordered_map<std::string, std::vector<int>> mountings_of_;
  std::vector<int> batches_;
  std::unordered_map<std::string, int> grower_of_;
  std::vector<std::vector<std::int64_t>> ordinals_;
};

}  // namespace goodside::trace
