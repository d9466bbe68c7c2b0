// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/thread.h"

#include "support/catch.h"

#include <pthread.h>
#include <sched.h>
#include <sys/resource.h>

#include <thread>

using namespace fourbeat;

namespace {

struct Scheduling {
  int policy = -1;
  int priority = -1;
  int nice = 0;
  bool operator==(const Scheduling&) const = default;
};

Scheduling mine() {
  Scheduling found;
  sched_param param{};
  if (pthread_getschedparam(pthread_self(), &found.policy, &param) == 0)
    found.priority = param.sched_priority;
  found.nice = getpriority(PRIO_PROCESS, 0);
  return found;
}

bool is(const Scheduling& found, ThreadUrgency urgency, const Scheduling& usual) {
  switch (urgency) {
    case ThreadUrgency::real_time:
      return found.priority > 0;
    case ThreadUrgency::favoured:
      return found.nice < usual.nice;
    case ThreadUrgency::usual:
      return found == usual;
  }
  return false;
}

}  // namespace

TEST_CASE("threads: a hurried one has what it was told it has, and others have not", "[base]") {
  const Scheduling usual = mine();
  Scheduling hurried;
  ThreadUrgency granted = ThreadUrgency::usual;
  std::thread([&] {
    granted = hurry_this_thread();
    hurried = mine();
  }).join();
  CHECK(is(hurried, granted, usual));
  CHECK(mine() == usual);
}

TEST_CASE("threads: those made under HurriedOffspring are hurried, the maker only meanwhile",
          "[base]") {
  const Scheduling usual = mine();
  Scheduling child;
  ThreadUrgency granted = ThreadUrgency::usual;
  {
    const HurriedOffspring hurried;
    granted = hurried.granted();
    std::thread([&] { child = mine(); }).join();
  }
  CHECK(is(child, granted, usual));
  CHECK(mine() == usual);
  Scheduling later;
  std::thread([&] { later = mine(); }).join();
  CHECK(later == usual);
}
