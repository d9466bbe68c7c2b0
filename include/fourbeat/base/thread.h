// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace fourbeat {

enum class ThreadUrgency {
  usual,     ///< as any other: the system grants no more
  favoured,  ///< before others, within the usual scheduling
  real_time  ///< before all that is not real-time
};

/// Asks the system to run the calling thread before others, as far as it grants that; what the
/// thread starts does not inherit real time. For a thread that does little and must do it in time.
/// Returns what was granted.
ThreadUrgency hurry_this_thread();

/// While it lives, the calling thread runs before others as far as the system grants that, and so
/// do, from then on, the threads that it makes meanwhile: for libraries that make a thread which
/// must be in time.
class HurriedOffspring {
 public:
  HurriedOffspring();
  ~HurriedOffspring();
  HurriedOffspring(const HurriedOffspring&) = delete;
  HurriedOffspring& operator=(const HurriedOffspring&) = delete;
  [[nodiscard]] ThreadUrgency granted() const { return granted_; }

 private:
  ThreadUrgency granted_ = ThreadUrgency::usual;
  int policy_ = 0;
  int priority_ = 0;
  int nice_ = 0;
};

}  // namespace fourbeat
