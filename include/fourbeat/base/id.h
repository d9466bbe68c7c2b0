// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <compare>
#include <cstdint>

namespace fourbeat {

/// The name of one entity of kind `T` in a project. Ids of different kinds do not mix. Zero is
/// "none". The project owns the counter they come from; a used id is never given out again.
template <class T>
class Id {
 public:
  constexpr Id() = default;
  constexpr explicit Id(std::int64_t number) : number_(number) {}
  [[nodiscard]] constexpr std::int64_t value() const { return number_; }
  [[nodiscard]] constexpr bool is_set() const { return number_ != 0; }
  // NOLINTNEXTLINE(modernize-use-nullptr): false alarm on a defaulted <=>
  constexpr auto operator<=>(const Id&) const = default;

 private:
  std::int64_t number_ = 0;
};

}  // namespace fourbeat
