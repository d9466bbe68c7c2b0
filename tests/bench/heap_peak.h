// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

namespace fourbeat::tests {

/// The most that `new` holds at once, over what it held when this was made. One at a time.
class HeapPeak {
 public:
  HeapPeak();
  [[nodiscard]] std::size_t bytes() const;

 private:
  std::size_t before_ = 0;
};

}  // namespace fourbeat::tests
