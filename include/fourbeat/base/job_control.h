// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

namespace fourbeat {

/// How a long call tells its progress and learns that it is no longer wanted. The default
/// object never cancels and drops the progress. Called from the thread that runs the job.
class JobControl {
 public:
  virtual ~JobControl() = default;
  /// True once the job should stop; it then returns ErrorCode::cancelled within 100 ms and
  /// leaves no file behind.
  [[nodiscard]] virtual bool cancelled() const { return false; }
  /// fraction: 0 to 1 of the stage; stage: a short text naming it.
  virtual void progress(double fraction, std::string_view stage) {
    (void)fraction;
    (void)stage;
  }
};

}  // namespace fourbeat
