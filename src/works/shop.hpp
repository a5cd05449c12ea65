#pragma once
#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace goodside::works {

// What a works has to plan with, and what it has to do: the input of `plan schedule` and `plan promise`. Times of the
// day and dates are the works' own clock, in whole seconds since 1970-01-01 00:00 on it; durations in seconds.

/// Hours on some days of the week; `to_s` may lie beyond midnight.
struct ShopShift {
  std::array<bool, 7> days{};  ///< Monday first
  std::int64_t from_s{}, to_s{};
};
struct ShopSpan {
  std::int64_t from_s{}, to_s{};
};

struct ShopHours {
  std::string id;
  std::vector<ShopShift> shifts;     ///< none: always open
  std::vector<std::int64_t> closed;  ///< days on which it is not, as their midnight
};

struct ShopStation {
  std::string id;
  std::string skill;  ///< of the hand that tends it; empty: none is needed
  double format_change_s{}, compound_change_s{}, title_change_s{};
  double warm_up_s{};  ///< lost whenever it was closed for longer than stays_warm_s
  double stays_warm_s{};
  bool pauses{};     ///< a work rests over closed hours; else it must fit into open ones
  bool takes_set{};  ///< holds a set of the title's stampers while it works
  double
      breakdown_every_s{};  ///< mean time of working between breakdowns; 0: none are reckoned with
  double repair_s{}, repair_spread{1.0};  ///< median, and the standard deviation of its logarithm
};

/// One tank, bench or press, with `places` that work side by side.
struct ShopMachine {
  std::string id, station, hours;
  int places{1};
  double pace{1.0};                     ///< 2: twice as fast as the route says
  std::string format, compound, title;  ///< on it now
  std::vector<ShopSpan> closed;         ///< maintenance, breakdown
  std::string press;  ///< the record's press that it is, by code or name; empty: its id
};

/// Hands: `places` works at a time of any of its skills.
struct ShopHand {
  std::string id, hours;
  std::vector<std::string> skills;
  int places{1};
};

struct ShopStep {
  std::string id, station;            ///< no station: a wait
  double time_s{}, each_s{};          ///< for the work, and for each disc of it
  double yield{1.0}, yield_spread{};  ///< good share, and the standard deviation of its logit
  bool per_side{}, per_lot{};
  std::vector<std::string> after;
  double rest_s{};      ///< from the end of those before it: labels dry, discs rest
  std::string arrival;  ///< what must have come in: labels, sleeves
  double spread{};      ///< of its time: standard deviation of the logarithm
  double refused{};     ///< chance that it must be done again, with the steps from `again` on
  std::string again;
  std::string means;  ///< what the record calls it: works::step_meanings; empty: its id
};

struct ShopRoute {
  std::string id;
  std::int64_t lot{};                           ///< discs a lot at most; 0: the whole order is one
  std::vector<ShopStep> steps;                  ///< each after those it waits for
  std::vector<std::string> formats, materials;  ///< of the record's orders that take it; none: all
};

/// What a step can be in the record, by which it knows whether it is done.
inline constexpr std::array<std::string_view, 19> step_meanings{"father",
                                                                "mother",
                                                                "stamper",
                                                                "faced",
                                                                "backed",
                                                                "washed",
                                                                "centred",
                                                                "punched",
                                                                "trimmed",
                                                                "inspected",
                                                                "finish",
                                                                "mix",
                                                                "test",
                                                                "test-listen",
                                                                "approval",
                                                                "run",
                                                                "edge",
                                                                "listen",
                                                                "pack"};

struct ShopTitle {
  std::string id, format;
  std::vector<std::string> sides{"A", "B"};
  bool cut{};                            ///< an approved cut is there
  int sets{1};                           ///< stampers that can press at once, as sets
  double life_shape{}, life_closings{};  ///< Weibull life of a stamper; 0: it is not reckoned with
  int spares{};                          ///< sets besides, ready to be mounted
  std::vector<double> ages;              ///< closings of the stampers on the press, as `sides`
};

/// One law that stampers' lives may follow (Weibull), and how much it is believed.
struct ShopLifeLaw {
  double weight{}, shape{}, closings{};
  double pull_closings{};  ///< at which the works pulls one that is still good; 0: never
};

/// Discs of an order that are on their way, or there.
struct ShopBegun {
  std::string id;                 ///< where they are: pressed, edge-finished, good …
  std::int64_t good{};            ///< so many of them are reckoned to be good
  std::vector<std::string> done;  ///< steps; with each all before it
};

struct ShopOrderBook {
  std::string id, title, route, compound;
  std::int64_t quantity{};
  std::int64_t due_s{};
  double weight{1.0};
  bool leave_out{};   ///< it is not planned
  bool late_known{};  ///< its due date cannot be met, and that is known
  std::vector<std::string>
      in_hand;           ///< steps already done, STEP or STEP/SIDE; with each all before it
  bool in_hand_alone{};  ///< without what is before them: metal may have gone since
  std::map<std::string, std::int64_t> arrives_s;
  std::vector<ShopBegun> begun;
  std::string metal_from;  ///< an order before this one that grows this title's metal
};

/// A work that has begun.
struct ShopRunning {
  std::string id, order, step, side, unit;  ///< no unit: any that is free
  int lot{1};                               ///< 0: the next
  double left_s{};                          ///< below 0: all of it
};

struct Shop {
  std::string name, source;  ///< source: the file as shown
  std::int64_t now_s{};
  std::vector<ShopHours> hours;
  std::vector<ShopStation> stations;
  std::vector<ShopMachine> machines;
  std::vector<ShopHand> hands;
  std::vector<ShopRoute> routes;
  std::vector<ShopTitle> titles;
  std::vector<ShopOrderBook> orders;
  std::vector<ShopRunning> running;
  std::vector<ShopLifeLaw> lives;  ///< of titles that tell no life of their own; weights sum to 1
  std::vector<std::string> found;  ///< what the record told of each order, a sentence each
};

}  // namespace goodside::works
