#include "intake/picture_codec.hpp"

#include <dlfcn.h>
#include <fmt/format.h>

#include <opencv2/core.hpp>
#include <opencv2/core/version.hpp>
#include <opencv2/imgcodecs.hpp>

namespace goodside::intake {
namespace {

using Decode = cv::Mat (*)(cv::InputArray, int);

/// cv::imdecode(cv::InputArray, int) of the library that belongs to the headers; null where there is none.
Decode find_decoder() {
  const std::string library =
      fmt::format("libopencv_imgcodecs.so.{}{:02}", CV_VERSION_MAJOR, CV_VERSION_MINOR);
  void* codecs = dlopen(library.c_str(), RTLD_NOW | RTLD_LOCAL);
  if (codecs == nullptr) return nullptr;
  return reinterpret_cast<Decode>(dlsym(codecs, "_ZN2cv8imdecodeERKNS_11_InputArrayEi"));
}

}  // namespace

Result<cv::Mat> decoded_grey(const std::string& bytes) {
  static const Decode decode = find_decoder();
  if (decode == nullptr)
    return Error{Fault::io,
                 "photographs are decoded by the library libopencv-imgcodecs, which is not there; "
                 "install it"};
  try {
    const cv::Mat raw(1, static_cast<int>(bytes.size()), CV_8U, const_cast<char*>(bytes.data()));
    return decode(raw, cv::IMREAD_GRAYSCALE);
  } catch (const cv::Exception&) {
    return cv::Mat{};
  }
}

}  // namespace goodside::intake
