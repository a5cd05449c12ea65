#pragma once
#include <gtest/gtest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "intake/audio_writer.hpp"

namespace goodside::test {

/// A folder of its own for one test, gone afterwards with all that is in it.
class Folder {
 public:
  Folder() {
    const auto* info = ::testing::UnitTest::GetInstance()->current_test_info();
    path_ = std::filesystem::path{::testing::TempDir()} /
            ("gs_" + std::to_string(::getpid()) + "_" + info->name());
    std::filesystem::remove_all(path_);
    std::filesystem::create_directories(path_);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() { std::filesystem::remove_all(path_); }

  [[nodiscard]] std::string operator/(const std::string& name) const {
    return (path_ / name).string();
  }

 private:
  std::filesystem::path path_;
};

/// `seconds` of a 440 Hz tone of this peak; beyond 1 it is clipped.
inline std::string record(const std::string& path,
                          double seconds,
                          int channels = 2,
                          float peak = 0.25F) {
  constexpr int rate_Hz = 8000;
  const auto frames = static_cast<std::size_t>(seconds * rate_Hz);
  std::vector<float> samples(frames * static_cast<std::size_t>(channels));
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = peak * static_cast<float>(std::sin(
                            0.3456 * static_cast<double>(i / static_cast<std::size_t>(channels))));
  auto writer = intake::AudioWriter::create(
      path, {.sample_rate_Hz = rate_Hz, .channels = channels, .coding = intake::Coding::pcm_16});
  EXPECT_TRUE(writer.has_value() && (*writer)->write(samples) && (*writer)->finish());
  return path;
}

}  // namespace goodside::test
