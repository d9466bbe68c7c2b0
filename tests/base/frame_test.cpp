// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/frame.h"

#include "support/catch.h"

#include "fourbeat/base/id.h"

using namespace fourbeat;

namespace {

template <class A, class B>
concept Addable = requires(A a, B b) {
  a + b;
};
template <class A, class B>
concept Comparable = requires(A a, B b) {
  a == b;
};
struct Apple {};
struct Pear {};

static_assert(!Addable<FrameIndex, FrameIndex>, "index + index must not compile");
static_assert(Addable<FrameIndex, FrameCount>);
static_assert(!Comparable<FrameIndex, FrameCount>);
static_assert(!Comparable<Id<Apple>, Id<Pear>>, "ids of different kinds must not mix");

}  // namespace

TEST_CASE("frames: index minus index is a count, and counts move an index", "[base]") {
  const FrameIndex a(1000);
  CHECK((a - FrameIndex(400)) == FrameCount(600));
  CHECK(a + FrameCount(-1500) == FrameIndex(-500));
}

TEST_CASE("frames: a range is half-open", "[base]") {
  const FrameRange range = frame_range(10, 20);
  CHECK(range.length() == FrameCount(10));
  CHECK(range.contains(frame_range(10, 20)));
  CHECK_FALSE(range.contains(frame_range(10, 21)));
  CHECK(frame_range(5, 5).empty());
}
