#pragma once
#include <cstdio>
#include <cstdlib>

/// A precondition inside our own code. A broken one is a bug of ours, never a user's Fault: it
/// stops the program in every build, with the place.
#define EXPECTS(condition)                                                                   \
  do {                                                                                       \
    if (!(condition)) [[unlikely]] {                                                         \
      std::fprintf(                                                                          \
          stderr, "goodside: broken promise %s at %s:%d\n", #condition, __FILE__, __LINE__); \
      std::abort();                                                                          \
    }                                                                                        \
  } while (false)
