#pragma once
#include "cli/command.hpp"
#include "line/hear_capture.hpp"

namespace goodside::cli {

/// One side: what is wrong, where, pass or fail. `engine` hears; main gives listen::listen.
Command listen_command(line::Engine engine);
Command play_command();  ///< the played-side simulator
Command demo_command();  ///< the demo works

}  // namespace goodside::cli
