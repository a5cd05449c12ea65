#include <sndfile.h>

#include <cstdio>
#include <exception>
#include <filesystem>
#include <string>

#include "intake/audio_files.hpp"
#include "intake/limits.hpp"
#include "json/listening_report.hpp"
#include "json/sample_report.hpp"
#include "json/trace_report.hpp"

// The inputs that fuzzing begins with, made by the tests' own writers: seeds FOLDER.

namespace goodside {
namespace {

namespace fs = std::filesystem;

std::string in(const fs::path& folder, const char* name) {
  return (folder / name).string();
}

void audio(const fs::path& folder) {
  struct Kind {
    const char* name;
    int major, coding, channels;
  };
  constexpr Kind kinds[] = {{"pcm16.wav", SF_FORMAT_WAV, SF_FORMAT_PCM_16, 2},
                            {"pcm24.wav", SF_FORMAT_WAVEX, SF_FORMAT_PCM_24, 2},
                            {"float.wav", SF_FORMAT_WAV, SF_FORMAT_FLOAT, 1},
                            {"double.wav", SF_FORMAT_WAV, SF_FORMAT_DOUBLE, 1},
                            {"pcm24.rf64", SF_FORMAT_RF64, SF_FORMAT_PCM_24, 2},
                            {"pcm16.w64", SF_FORMAT_W64, SF_FORMAT_PCM_16, 2},
                            {"pcm16.aiff", SF_FORMAT_AIFF, SF_FORMAT_PCM_16, 2},
                            {"pcm16.flac", SF_FORMAT_FLAC, SF_FORMAT_PCM_16, 2},
                            {"pcm24.flac", SF_FORMAT_FLAC, SF_FORMAT_PCM_24, 1}};
  for (const Kind& kind : kinds)
    test::record(in(folder, kind.name),
                 {.major = kind.major,
                  .coding = kind.coding,
                  .sample_rate_Hz = 48000,
                  .channels = kind.channels,
                  .frames = 200});
  test::write_bytes(in(folder, "claims_4_GiB.wav"), test::wav_header(0xFFFFFFF0U) + "abcd");
  test::write_bytes(in(folder, "open_ended.wav"), test::wav_header(0xFFFFFFFFU) + "abcd");
}

void toml(const fs::path& folder) {
  test::write_bytes(in(folder, "limits"),
                    intake::limits_toml(intake::built_in_limits("12in-33"), "12in-33"));
  test::write_bytes(in(folder, "default"), "[limits.default]\neccentricity_m = \"not judged\"\n");
  test::write_bytes(in(folder, "bench"),
                    "[bench.one]\narm_length = \"230 mm\"\narm_mount = \"215 mm\"\n"
                    "clock_error_ppm = -3.5\nformat = \"12in-33\"\nrpm = 33.3333\n"
                    "outer_radius = \"146 mm\"\npitch = \"120 lpi\"\ncartridge = \"elliptical\"\n"
                    "equalise = \"3180/318/75\"\n");
}

void pitch_profile(const fs::path& folder) {
  test::write_bytes(in(folder, "heading"), "programme_s,pitch_um\n0,120\n60.5,110\n3:42,130\n");
  test::write_bytes(in(folder, "metres"), "# remark\n0;1e-4\n1:00.5;1.2e-4\n");
  test::write_bytes(in(folder, "tabs"), "\xEF\xBB\xBFtime\tpitch (mm)\r\n0\t0.1\r\n9\t0.2\r\n");
}

void report(const fs::path& folder) {
  test::write_bytes(in(folder, "report"), json::write(test::sample_report()));
}

void family(const fs::path& folder) {
  test::write_bytes(in(folder, "family"),
                    R"({"schema": "goodside.family/1", "parts": [{"id": "S1", "kind": "stamper",
"parent": null, "grown": 1}], "discs": [{"id": "D1", "stamper": {"A": "S1", "B": null},
"impression": [3, 9], "fetchable": true}], "stock": [{"carton": "K1", "impressions": [1, 25]}],
"steps": [{"part": "S1", "at": 5, "what": "washed"}], "reports": [{"disc": "D1", "file": "d1.json"}],
"remarks": [{"disc": "D1", "programme_s": 12.5, "within_s": 2}], "costs": {"wash": 10}})");
  works::TraceReport trace;
  trace.recurring.emplace_back();
  trace.recurring.back().cause.onset = works::CredibleImpressions{1, 9, 4};
  trace.refused = {{"disc D1", "given twice"}};
  test::write_bytes(in(folder, "trace"), json::write(trace));
}

void quantity(const fs::path& folder) {
  constexpr const char* texts[] = {"11 7/8 in",
                                   "120 lpi",
                                   "1:03:42.5",
                                   "33⅓",
                                   "9.6 kHz",
                                   "165 °C",
                                   "6.2 bar",
                                   "-66 dB",
                                   "12.5 %",
                                   "-300 ppm"};
  char kind = 0;
  for (const char* text : texts) {
    test::write_bytes(in(folder, std::to_string(kind).c_str()), std::string(1, kind) + text);
    ++kind;
  }
}

}  // namespace
}  // namespace goodside

int main(int count, char** words) try {
  using namespace goodside;
  if (count != 2) {
    std::fputs("seeds: name the folder to write to\n", stderr);
    return 2;
  }
  struct Kind {
    const char* name;
    void (*write)(const fs::path&);
  };
  for (const auto& [name, write] : {Kind{"audio", audio},
                                    Kind{"toml", toml},
                                    Kind{"pitch_profile", pitch_profile},
                                    Kind{"report", report},
                                    Kind{"family", family},
                                    Kind{"quantity", quantity}}) {
    const fs::path folder = fs::path{words[1]} / name;
    fs::remove_all(folder);
    fs::create_directories(folder);
    write(folder);
  }
  return 0;
} catch (const std::exception& error) {
  std::fprintf(stderr, "seeds: %s\n", error.what());
  return 3;
}
