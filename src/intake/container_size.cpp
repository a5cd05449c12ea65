#include "intake/container_size.hpp"

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <filesystem>
#include <memory>
#include <optional>
#include <system_error>

namespace goodside::intake {
namespace {

constexpr std::uint64_t all_ones_32 = 0xFFFFFFFFU;
constexpr std::uint64_t all_ones_64 = ~std::uint64_t{0};
constexpr std::uint64_t largest_riff_bytes = all_ones_32 + 8;
// A damaged header can hold any number of empty chunks; no honest one comes near this.
constexpr int most_chunks = 10000;

/// Reads header bytes at a place of the file; past the end there is nothing.
class HeaderReader {
 public:
  explicit HeaderReader(std::FILE* file) : file_{file} {}

  template <std::size_t n>
  std::optional<std::array<unsigned char, n>> bytes(std::uint64_t at) {
    std::array<unsigned char, n> out{};
    if (at > std::uint64_t{1} << 62) return {};
    if (fseeko(file_, static_cast<off_t>(at), SEEK_SET) != 0) return {};
    if (std::fread(out.data(), 1, n, file_) != n) return {};
    return out;
  }

 private:
  std::FILE* file_;
};

std::uint64_t little_endian(const unsigned char* bytes, int count) {
  std::uint64_t value = 0;
  for (int i = count; i-- > 0;) value = value << 8 | bytes[i];
  return value;
}

std::uint64_t big_endian(const unsigned char* bytes, int count) {
  std::uint64_t value = 0;
  for (int i = 0; i < count; ++i) value = value << 8 | bytes[i];
  return value;
}

bool is(const unsigned char* bytes, const char* four) {
  return std::memcmp(bytes, four, 4) == 0;
}

void hold(ContainerSize& size, std::uint64_t data_from, std::uint64_t promised) {
  const std::uint64_t rest =
      size.file_bytes > data_from ? size.file_bytes - data_from : std::uint64_t{0};
  size.open_ended =
      promised == all_ones_32 || promised == all_ones_64 || (promised == 0 && rest > 0);
  size.promised_bytes = promised;
  size.present_bytes = std::min(promised, rest);
}

struct ChunkNames {
  const char* data;
  bool big_end_first;
};

/// RIFF, RIFX, RF64, BW64 and AIFF share one frame: a 12-byte head, then chunks of name, 32-bit
/// size and an even number of bytes. RF64 and BW64 keep the 64-bit data size in the chunk ds64, at
/// its byte 8.
void walk_chunks(HeaderReader& reader, const ChunkNames& names, ContainerSize& size) {
  std::optional<std::uint64_t> long_data_size;
  std::uint64_t at = 12;
  for (int chunk = 0; chunk < most_chunks; ++chunk) {
    const auto head = reader.bytes<8>(at);
    if (!head) return;
    const std::uint64_t bytes =
        names.big_end_first ? big_endian(head->data() + 4, 4) : little_endian(head->data() + 4, 4);
    if (is(head->data(), names.data)) {
      const bool is_long = bytes == all_ones_32 && long_data_size.has_value();
      hold(size, at + 8, is_long ? *long_data_size : bytes);
      return;
    }
    if (is(head->data(), "ds64")) {
      const auto body = reader.bytes<16>(at + 8);
      if (!body) return;
      long_data_size = little_endian(body->data() + 8, 8);
    }
    at += 8 + bytes + bytes % 2;
  }
}

// The 12 bytes with which every W64 chunk name ends after its four letters.
constexpr std::array<unsigned char, 12> w64_tail{
    0xF3, 0xAC, 0xD3, 0x11, 0x8C, 0xD1, 0x00, 0xC0, 0x4F, 0x8E, 0xDB, 0x8A};

/// W64: a 40-byte head, then chunks of a 16-byte name and a 64-bit size that counts its own 24
/// bytes, each beginning at a multiple of 8.
void walk_w64(HeaderReader& reader, ContainerSize& size) {
  std::uint64_t at = 40;
  for (int chunk = 0; chunk < most_chunks; ++chunk) {
    const auto head = reader.bytes<24>(at);
    if (!head) return;
    const std::uint64_t bytes = little_endian(head->data() + 16, 8);
    if (bytes < 24) return;
    if (is(head->data(), "data") &&
        std::equal(w64_tail.begin(), w64_tail.end(), head->data() + 4)) {
      hold(size, at + 24, bytes == all_ones_64 ? bytes : bytes - 24);
      return;
    }
    if (bytes > size.file_bytes) return;
    at += (bytes + 7) / 8 * 8;
  }
}

}  // namespace

Result<ContainerSize> container_size(const std::string& path) {
  std::error_code problem;
  ContainerSize size;
  size.file_bytes = std::filesystem::file_size(path, problem);
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> file{std::fopen(path.c_str(), "rb"),
                                                             &std::fclose};
  if (problem || !file) {
    const std::string why = problem ? problem.message() : std::generic_category().message(errno);
    return Error{Fault::io,
                 path + ": cannot be read (" + why + "); see to its permissions or copy it here"};
  }

  HeaderReader reader{file.get()};
  const auto head = reader.bytes<12>(0);
  if (!head) return size;
  const unsigned char* name = head->data();
  const unsigned char* form = head->data() + 8;
  if ((is(name, "RIFF") || is(name, "RIFX")) && is(form, "WAVE")) {
    size.kind = ContainerSize::Kind::riff;
    walk_chunks(reader, {.data = "data", .big_end_first = is(name, "RIFX")}, size);
    size.wrapped = size.file_bytes > largest_riff_bytes;
  } else if ((is(name, "RF64") || is(name, "BW64")) && is(form, "WAVE")) {
    size.kind = ContainerSize::Kind::rf64;
    walk_chunks(reader, {.data = "data", .big_end_first = false}, size);
  } else if (is(name, "FORM") && (is(form, "AIFF") || is(form, "AIFC"))) {
    size.kind = ContainerSize::Kind::aiff;
    walk_chunks(reader, {.data = "SSND", .big_end_first = true}, size);
    size.wrapped = size.file_bytes > largest_riff_bytes;
  } else if (is(name, "riff")) {
    size.kind = ContainerSize::Kind::w64;
    walk_w64(reader, size);
  }
  return size;
}

}  // namespace goodside::intake
