// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "sound/Transport.h"
#include "sound_server.h"
#include "support.h"
#include "support/catch.h"

#include <cmath>
#include <memory>
#include <span>
#include <utility>
#include <vector>

/// Looking for what was played in what a sound server recorded.
namespace fourbeat::tests {

inline double correlation(std::span<const float> a, std::span<const float> b) {
  double ab = 0.0;
  double aa = 1e-30;
  double bb = 1e-30;
  for (std::size_t i = 0; i < a.size(); ++i) {
    ab += static_cast<double>(a[i]) * static_cast<double>(b[i]);
    aa += static_cast<double>(a[i]) * static_cast<double>(a[i]);
    bb += static_cast<double>(b[i]) * static_cast<double>(b[i]);
  }
  return ab / std::sqrt(aa * bb);
}

/// Where in `record` the stretch lies that is most like `wanted`, and how like it is.
struct Found {
  std::size_t at = 0;
  double likeness = 0.0;
};
inline Found find(std::span<const float> record, std::span<const float> wanted) {
  Found best;
  const std::size_t head = std::min<std::size_t>(wanted.size(), 400);
  for (std::size_t at = 0; at + wanted.size() <= record.size(); ++at) {
    const double first = correlation(record.subspan(at, head), wanted.first(head));
    if (first <= best.likeness) continue;
    best = {at, first};
  }
  if (best.likeness > 0.0)
    best.likeness = correlation(record.subspan(best.at, wanted.size()), wanted);
  return best;
}

/// One sink, for as long as the object lives.
class Sink {
 public:
  explicit Sink(const char* name, int sink_hz = 48000, bool as_default = true)
      : server_(*SoundServer::instance()) {
    number_ = server_.load(QLatin1String(name), sink_hz);
    if (as_default) server_.makeDefault(QLatin1String(name));
  }
  ~Sink() { remove(); }
  Sink(const Sink&) = delete;
  Sink& operator=(const Sink&) = delete;
  void remove() {
    if (number_ >= 0) server_.unload(number_);
    number_ = -1;
  }

 private:
  SoundServer& server_;
  int number_;
};

/// The machine itself may stand still for longer than the buffer lasts: what must hold of the sound
/// then holds in one of five tries.
template <class Try>
void in_five_tries(const Try& one) {
  for (int i = 0; i < 4; ++i) {
    if (one()) return;
  }
  CHECK(one());
}

/// A clip to play; key: its key and title.
inline ui::PlayRequest request_of(std::vector<float> samples, const char* key,
                                  double clip_hz = 48000.0) {
  auto clip = std::make_shared<audio::Clip>();
  clip->sample_rate_hz = clip_hz;
  clip->samples = std::move(samples);
  ui::PlayRequest request;
  request.source = ui::ClipSource{std::move(clip), false};
  request.key = QLatin1String(key);
  request.title = QLatin1String(key);
  return request;
}

/// Until the device is open and silence flows.
inline bool opened(ui::Transport& transport) {
  transport.play(request_of(std::vector<float>(480, 0.0F), "opening"));
  return waitUntil([&] { return transport.figures().open && !transport.isPlaying(); });
}

}  // namespace fourbeat::tests
