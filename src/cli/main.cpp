#include <fcntl.h>
#include <unistd.h>

#if defined(__GLIBC__)
#include <malloc.h>
#endif

#include <csignal>
#include <cstdlib>
#include <iostream>
#include <vector>

#include "cli/commands.hpp"
#include "cli/paint_trace.hpp"
#include "listen/listen.hpp"

namespace {

/// Memory given back by one piece of a side serves the next instead of going to the system and coming back
/// zeroed: a tenth of the time of listening.
void keep_freed_memory() {
#if defined(__GLIBC__)
  mallopt(M_MMAP_THRESHOLD, 32 << 20);
  mallopt(M_TRIM_THRESHOLD, 512 << 20);
#endif
}

/// A standard stream that the caller closed would lend its number to the next file opened, and the answer would
/// be written into that. What stands there instead can be neither read to any use nor written.
void hold_standard_streams() {
  while (true) {
    const int lowest_free = open("/dev/null", O_RDONLY);
    if (lowest_free < 0) return;
    if (lowest_free > STDERR_FILENO) {
      close(lowest_free);
      return;
    }
  }
}

/// A file that may not grow further (ulimit -f) is an error of writing like a full disk, not the end of the program.
void let_writing_fail() {
  std::signal(SIGXFSZ, SIG_IGN);
}

}  // namespace

int main(int count, char** words) {
  using namespace goodside::cli;
  hold_standard_streams();
  let_writing_fail();
  keep_freed_memory();
  Console console{std::cout,
                  std::cerr,
                  {.colour = isatty(STDOUT_FILENO) != 0 && std::getenv("NO_COLOR") == nullptr,
                   .progress = isatty(STDERR_FILENO) != 0}};
  std::vector<Command> commands{listen_command(goodside::listen::listen),
                                trace_command(goodside::cli::paint_trace),
                                limits_command(),
                                check_disc_command(),
                                plate_command(),
                                mix_command(),
                                biscuit_command(),
                                back_command(),
                                centre_command(),
                                cycle_command(),
                                play_command(),
                                demo_command(),
                                serve_command()};
  for (const auto& family : {works_enter_commands(),
                             works_press_commands(),
                             works_sample_commands(),
                             works_disc_commands(),
                             works_ask_commands(),
                             works_keep_commands(),
                             accept_table_commands(),
                             accept_hearing_commands(),
                             plan_shop_commands()})
    commands.insert(commands.end(), family.begin(), family.end());
  for (const auto& family : {pack_carton_commands(), pack_ship_commands(), pack_paper_commands()})
    commands.insert(commands.end(), family.begin(), family.end());
  commands.push_back(pack_plan_command());
  commands.push_back(chart_command());
  commands.push_back(plan_need_command());
  commands.push_back(works_quarantine_command());
  commands.push_back(works_lives_command());
  const int status = run_line(commands, {words + 1, words + count}, console);
  std::cout.flush();
  if (!std::cout)
    return console.refuse({goodside::Fault::io,
                           "the answer could not be written to standard output; is the disk full, "
                           "or the stream closed?"});
  return status;
}
