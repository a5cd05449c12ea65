#pragma once
#include <string>
#include <vector>

#include "draw/plot_frame.hpp"
#include "works/shop_plan.hpp"

namespace goodside::draw {

/// The plan as grooves: a line for each machine, running with time, that swings out where it works: an order's works
/// all to one side, so that neighbours part without a colour each; to the other side the next. Where there is room the
/// order's name stands across the line. Late orders'
/// works are orange and hatched, what is fixed is hollow, changing over is dotted copper. Below, each order's due date as a notch and its
/// end as the shape of how it stands. Grows in height with the machines.
/// Errors: Fault::out_of_range for a width out of range; Fault::bad_input for a plan without works.
Result<std::string> shop_plan_plot(const works::ShopPlan& plan, const PlotOptions& options);
/// The texts that it sets, for tests.
Result<std::vector<PlacedText>> shop_plan_texts(const works::ShopPlan& plan,
                                                const PlotOptions& options);

/// When each order is likely done: the share of replays in which it is not done yet, falling over time, orange past its due date,
/// which is a notch; strokes where it is done with 50, 90 and 95 %. The least sure orders, at most 14.
Result<std::string> promise_plot(const works::PlanPromise& promise, const PlotOptions& options);
Result<std::vector<PlacedText>> promise_texts(const works::PlanPromise& promise,
                                              const PlotOptions& options);

}  // namespace goodside::draw
