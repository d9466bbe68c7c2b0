// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/thread.h"

#include <pthread.h>
#include <sched.h>
#include <sys/resource.h>

#if defined(__linux__)
#include <sys/syscall.h>
#include <unistd.h>
#endif

namespace fourbeat {

namespace {

int urgent_priority() {
  return sched_get_priority_min(SCHED_RR) + 4;
}

#if defined(__linux__)
// On Linux a niceness is a thread's own, and new threads inherit it.
constexpr int favoured_nice = -11;

id_t this_thread() {
  return static_cast<id_t>(syscall(SYS_gettid));
}
#endif

bool favour_this_thread() {
#if defined(__linux__)
  return setpriority(PRIO_PROCESS, this_thread(), favoured_nice) == 0;
#else
  return false;
#endif
}

}  // namespace

ThreadUrgency hurry_this_thread() {
  sched_param wanted{};
  wanted.sched_priority = urgent_priority();
  int policy = SCHED_RR;
#if defined(SCHED_RESET_ON_FORK)
  policy |= SCHED_RESET_ON_FORK;
#endif
  if (pthread_setschedparam(pthread_self(), policy, &wanted) == 0) return ThreadUrgency::real_time;
  return favour_this_thread() ? ThreadUrgency::favoured : ThreadUrgency::usual;
}

HurriedOffspring::HurriedOffspring() {
  sched_param before{};
  if (pthread_getschedparam(pthread_self(), &policy_, &before) != 0) return;
  priority_ = before.sched_priority;
  sched_param wanted{};
  wanted.sched_priority = urgent_priority();
  if (pthread_setschedparam(pthread_self(), SCHED_RR, &wanted) == 0) {
    granted_ = ThreadUrgency::real_time;
    return;
  }
#if defined(__linux__)
  nice_ = getpriority(PRIO_PROCESS, this_thread());
#endif
  if (favour_this_thread()) granted_ = ThreadUrgency::favoured;
}

HurriedOffspring::~HurriedOffspring() {
  if (granted_ == ThreadUrgency::real_time) {
    sched_param before{};
    before.sched_priority = priority_;
    pthread_setschedparam(pthread_self(), policy_, &before);
  }
#if defined(__linux__)
  if (granted_ == ThreadUrgency::favoured) setpriority(PRIO_PROCESS, this_thread(), nice_);
#endif
}

}  // namespace fourbeat
