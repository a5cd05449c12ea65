#include <unistd.h>

#include <cstdlib>
#include <iostream>

#include "cli/commands.hpp"
#include "listen/listen.hpp"

int main(int count, char** words) {
  using namespace goodside::cli;
  Console console{std::cout,
                  std::cerr,
                  {.colour = isatty(STDOUT_FILENO) != 0 && std::getenv("NO_COLOR") == nullptr,
                   .progress = isatty(STDERR_FILENO) != 0}};
  const int status =
      run_line({listen_command(goodside::listen::listen), play_command(), demo_command()},
               {words + 1, words + count},
               console);
  std::cout.flush();
  if (!std::cout)
    return console.refuse(
        {goodside::Fault::io,
         "the answer could not be written to standard output; is the disk full?"});
  return status;
}
