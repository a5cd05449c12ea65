#include <unistd.h>

#if defined(__GLIBC__)
#include <malloc.h>
#endif

#include <cstdlib>
#include <iostream>
#include <vector>

#include "cli/commands.hpp"
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

}  // namespace

int main(int count, char** words) {
  using namespace goodside::cli;
  keep_freed_memory();
  Console console{std::cout,
                  std::cerr,
                  {.colour = isatty(STDOUT_FILENO) != 0 && std::getenv("NO_COLOR") == nullptr,
                   .progress = isatty(STDERR_FILENO) != 0}};
  std::vector<Command> commands{
      listen_command(goodside::listen::listen), play_command(), demo_command()};
  for (const auto& family : {works_enter_commands(),
                             works_press_commands(),
                             works_sample_commands(),
                             works_disc_commands(),
                             works_ask_commands(),
                             works_keep_commands()})
    commands.insert(commands.end(), family.begin(), family.end());
  const int status = run_line(commands, {words + 1, words + count}, console);
  std::cout.flush();
  if (!std::cout)
    return console.refuse(
        {goodside::Fault::io,
         "the answer could not be written to standard output; is the disk full?"});
  return status;
}
