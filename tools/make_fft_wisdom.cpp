// Measures the best plans for the transforms of src/signal on this machine and prints them as the header that
// src/signal keeps. Plans then depend on the build and the class of CPU alone, never on timing at run time.
//   g++ -O2 tools/make_fft_wisdom.cpp -lfftw3f -o /tmp/make_fft_wisdom && /tmp/make_fft_wisdom > src/signal/fft_wisdom.hpp
#include <fftw3.h>

#include <cstdio>
#include <cstdlib>
#include <string>

int main() {
  for (int length = 256; length <= 1 << 15; length *= 2) {
    const int half = length / 2;
    fftwf_complex* pairs = fftwf_alloc_complex(static_cast<std::size_t>(half));
    fftwf_complex* spectrum = fftwf_alloc_complex(static_cast<std::size_t>(half));
    fftwf_destroy_plan(fftwf_plan_dft_1d(
        half, pairs, spectrum, FFTW_FORWARD, FFTW_PATIENT | FFTW_PRESERVE_INPUT));
    fftwf_destroy_plan(fftwf_plan_dft_1d(half, spectrum, pairs, FFTW_BACKWARD, FFTW_PATIENT));
    fftwf_free(pairs);
    fftwf_free(spectrum);
  }
  char* wisdom = fftwf_export_wisdom_to_string();
  std::puts("#pragma once\n");
  std::puts("namespace goodside::signal {\n");
  std::puts("/// Plans of FFTW 3.3.10 with AVX2 for lengths 256 to 32768, made by tools/make_fft_wisdom.cpp. Another build of");
  std::puts("/// the library or another CPU refuses them, and plans are estimated.");
  std::puts("inline constexpr const char* fft_wisdom =");
  std::string text{wisdom};
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = text.find('\n', from);
    const std::string line = text.substr(from, end == std::string::npos ? end : end - from);
    const bool last = end == std::string::npos || end + 1 >= text.size();
    std::printf("    \"%s\\n\"%s\n", line.c_str(), last ? ";" : "");
    if (end == std::string::npos) break;
    from = end + 1;
  }
  std::puts("\n}  // namespace goodside::signal");
  std::free(wisdom);
}
