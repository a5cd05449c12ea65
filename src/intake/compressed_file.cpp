#include "intake/compressed_file.hpp"

#include <zlib.h>

#include "intake/safe_file.hpp"

namespace goodside::intake {
namespace {

constexpr int gzip_window = 15 + 16;  // zlib's way to ask for a gzip head and tail

}  // namespace

Outcome write_compressed(const std::string& path, std::string_view bytes) {
  z_stream stream{};
  if (deflateInit2(&stream, 9, Z_DEFLATED, gzip_window, 9, Z_DEFAULT_STRATEGY) != Z_OK)
    return Error{Fault::io, path + ": cannot be compressed; is memory short?"};
  std::string packed(deflateBound(&stream, bytes.size()) + 32, '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
  stream.avail_in = static_cast<uInt>(bytes.size());
  stream.next_out = reinterpret_cast<Bytef*>(packed.data());
  stream.avail_out = static_cast<uInt>(packed.size());
  const int code = deflate(&stream, Z_FINISH);
  packed.resize(stream.total_out);
  deflateEnd(&stream);
  if (code != Z_STREAM_END) return Error{Fault::io, path + ": cannot be compressed"};
  return write_whole(path, packed);
}

Result<std::string> read_compressed(const std::string& path, std::size_t largest_bytes) {
  // What cannot be made smaller grows by a head and a few bytes a block.
  const auto packed = read_whole(path, largest_bytes + largest_bytes / 1000 + 64);
  if (!packed) return packed.error();
  const Error damaged{Fault::bad_input,
                      path + ": is damaged or larger than expected; restore it from the backup"};
  z_stream stream{};
  if (inflateInit2(&stream, gzip_window) != Z_OK) return damaged;
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed->data()));
  stream.avail_in = static_cast<uInt>(packed->size());
  std::string bytes;
  int code = Z_OK;
  while (code == Z_OK && bytes.size() <= largest_bytes) {
    const std::size_t before = bytes.size();
    bytes.resize(before + (std::size_t{1} << 18));
    stream.next_out = reinterpret_cast<Bytef*>(bytes.data() + before);
    stream.avail_out = static_cast<uInt>(bytes.size() - before);
    code = inflate(&stream, Z_NO_FLUSH);
    bytes.resize(bytes.size() - stream.avail_out);
  }
  inflateEnd(&stream);
  if (code != Z_STREAM_END || bytes.size() > largest_bytes || stream.avail_in != 0) return damaged;
  return bytes;
}

}  // namespace goodside::intake
