// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/spsc_queue.h"

#include "support/catch.h"

#include <thread>

using fourbeat::drive::SpscQueue;

TEST_CASE("queue: elements come out in order, and a full queue refuses", "[drive]") {
  SpscQueue<int> queue(4);
  int value = 0;
  CHECK_FALSE(queue.pop(value));
  CHECK(queue.front() == nullptr);
  REQUIRE(queue.capacity() == 4);
  for (int round = 0; round < 5; ++round) {
    for (int i = 0; i < 4; ++i)
      CHECK(queue.push(10 * round + i));
    CHECK_FALSE(queue.push(99));
    REQUIRE(queue.front() != nullptr);
    CHECK(*queue.front() == 10 * round);
    for (int i = 0; i < 4; ++i) {
      REQUIRE(queue.pop(value));
      CHECK(value == 10 * round + i);
    }
    CHECK_FALSE(queue.pop(value));
  }
}

TEST_CASE("queue: two threads pass every element once and in order", "[drive]") {
  constexpr long count = 200000;
  SpscQueue<long> queue(64);
  std::thread producer([&queue] {
    for (long i = 0; i < count; ++i) {
      while (!queue.push(i))
        std::this_thread::yield();
    }
  });
  long expected = 0;
  long wrong = 0;
  while (expected < count) {
    long value = 0;
    if (!queue.pop(value)) {
      std::this_thread::yield();
      continue;
    }
    if (value != expected) ++wrong;
    ++expected;
  }
  producer.join();
  CHECK(wrong == 0);
  CHECK(queue.front() == nullptr);
}
