#include "draw/sheets.hpp"

#include "draw/paper.hpp"

namespace goodside::draw {

Outcome Sheets::next() {
  if (count_ >= most)
    return Error{Fault::out_of_range,
                 "a paper of more than 2000 sheets is none; split what it is of"};
  if (canvas_) {
    texts_.push_back(canvas_->texts());
    if (format_ == PictureFormat::pdf)
      canvas_->next_sheet();
    else if (const auto closed = close(); !closed)
      return closed;
  }
  if (!canvas_) canvas_ = std::make_unique<Canvas>(format_, paper_);
  ++count_;
  return Done{};
}

Outcome Sheets::close() {
  auto bytes = canvas_->finish();
  canvas_.reset();
  if (!bytes) return bytes.error();
  files_.push_back(std::move(*bytes));
  return Done{};
}

Result<DrawnPaper> Sheets::finish() {
  if (canvas_) {
    texts_.push_back(canvas_->texts());
    if (const auto closed = close(); !closed) return closed.error();
  }
  return DrawnPaper{std::move(files_), std::move(texts_)};
}

}  // namespace goodside::draw
