#pragma once

// Kernels marked so are compiled twice, for any x86-64 and for one with AVX2 and FMA, and chosen at
// start. The sanitizers and other compilers take the plain one.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && \
    !defined(__SANITIZE_ADDRESS__) && !defined(__SANITIZE_THREAD__)
#define GOODSIDE_CLONES __attribute__((target_clones("arch=x86-64-v3", "default")))
#else
#define GOODSIDE_CLONES
#endif
