#pragma once
#include <opencv2/core/mat.hpp>
#include <string>

#include "base/result.hpp"

namespace goodside::intake {

/// The grey picture in the bytes of a PNG or JPEG file, turned as the camera says; empty where they are broken.
/// OpenCV's library of codecs brings 140 others in, 40 MB and 60 ms of every command: it is loaded with the first
/// picture, and stays. Errors: Fault::io where it is not installed.
Result<cv::Mat> decoded_grey(const std::string& bytes);

}  // namespace goodside::intake
