#pragma once
#include <functional>
#include <string>
#include <vector>

#include "cli/command.hpp"
#include "line/hear_capture.hpp"
#include "line/trace_side.hpp"

namespace goodside::cli {

/// One side: what is wrong, where, pass or fail. `engine` hears; main gives listen::listen.
Command listen_command(line::Engine engine);
Command plate_command();       ///< the metal room: deposit, spread, shield, stress
Command play_command();        ///< the played-side simulator
Command serve_command();       ///< the pages and the API
Command demo_command();        ///< the demo works
Command limits_command();      ///< limits learned from listeners' verdicts
Command check_disc_command();  ///< has the bench moved?
Command mix_command();         ///< what to weigh in, and how to put a batch right
Command biscuit_command();     ///< what a biscuit must weigh, and how it is cut

// The stations.
Command back_command();    ///< a stamper's back
Command centre_command();  ///< the hole against its groove
Command cycle_command();   ///< heat and flow of one press cycle

/// Draws a traced family into the file named. Errors: Fault::io, Fault::bad_input.
using TracePainter = std::function<Outcome(const line::TracedFamily&, const std::string& path)>;
/// Many sides: which part did it. `--picture` is offered where there is a painter.
Command trace_command(TracePainter paint = {});

// The verbs of `works`, the record.
std::vector<Command> works_enter_commands();   ///< init, kinds, add, log, reverse
std::vector<Command> works_press_commands();   ///< mount, unmount, press, approve
std::vector<Command> works_sample_commands();  ///< ticket, hear, captures
std::vector<Command> works_disc_commands();  ///< move, hold, release, recount, close, ship, return
std::vector<Command> works_ask_commands();   ///< show, from, where, events
std::vector<Command> works_keep_commands();  ///< check, backup, restore, export, import, cards

// The verbs of `accept`: sampling and listening by evidence.
std::vector<Command> accept_table_commands();    ///< table, lots, design
std::vector<Command> accept_hearing_commands();  ///< next, places, runs

Command chart_command();      ///< control charts, run rules, capability
Command plan_need_command();  ///< what orders take

Command works_quarantine_command();  ///< holds what a trace calls suspect
Command works_lives_command();       ///< stampers' lives, and when to pull

Command pack_plan_command();  ///< discs to a carton, layers, pallets
std::vector<Command>
pack_carton_commands();  ///< fill, close, open, take-out, split, pull, stack, show
std::vector<Command> pack_ship_commands();   ///< ship, return, credit, owed
std::vector<Command> pack_paper_commands();  ///< paper, label

}  // namespace goodside::cli
