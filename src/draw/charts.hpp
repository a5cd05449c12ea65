#pragma once
#include <string>
#include <vector>

#include "base/result.hpp"
#include "draw/canvas.hpp"
#include "draw/plot_frame.hpp"

namespace goodside::draw {

/// Curves over one axis, told apart by ink and dash and named in a key.
struct ChartCurve {
  std::string name;
  std::vector<Point> places;  ///< in the axes' units, x growing
};

/// A place on the x axis where something happens: a line with its words at the top.
struct ChartEvent {
  double x{};
  std::string text;
};

/// A level that must be kept: a dashed line with its words.
struct ChartLevel {
  double y{};
  std::string text;
};

struct ChartFrame {
  std::string x_title, y_title;
  std::vector<ChartCurve> curves;  ///< six at most
  std::vector<ChartEvent> events;
  std::vector<ChartLevel> levels;
  double height{1.0};  ///< against the page's other frames
};

struct Charts {
  std::string title, whose;
  std::vector<ChartFrame> frames;  ///< one to three, one below the other
};

/// What pairs of two amounts come to, as marks on a lattice: shape and word first, colour last.
struct StateMap {
  enum class State { good, only_just, short_of, cold, hot, soft, bent, thick, impossible };
  std::string title, whose, x_title, y_title;
  std::vector<double> x, y;   ///< growing
  std::vector<State> states;  ///< y by y, x fastest
  Point now;                  ///< the setting at hand, ringed where it lies within
};
inline constexpr std::size_t state_map_states = 9;

/// Errors: Fault::out_of_range for a width; Fault::bad_input for nothing to draw; Fault::io.
Result<std::string> charts(const Charts&, const PlotOptions&);
Result<std::string> state_map(const StateMap&, const PlotOptions&);
/// Where their texts stand.
Result<std::vector<PlacedText>> charts_texts(const Charts&, const PlotOptions&);
Result<std::vector<PlacedText>> state_map_texts(const StateMap&, const PlotOptions&);

}  // namespace goodside::draw
