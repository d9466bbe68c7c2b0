// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/engine.h"

#include "denormals.h"
#include "engine_core.h"
#include "refusal.h"

#include <algorithm>
#include <array>
#include <new>
#include <utility>

namespace fourbeat::drive {

namespace {

constexpr std::size_t chunk_frames = 1024;  // size of the stem buffers

}  // namespace

/// The core, and room for the stems of one chunk.
struct Engine::Rig {
  Rig(std::shared_ptr<const CompiledSet> set, const EngineOptions& options)
      : core(std::move(set), options) {}
  Core core;
  std::array<std::array<float, chunk_frames>, stem_count> stems{};
};

Result<std::unique_ptr<Engine>> Engine::create(std::shared_ptr<const CompiledSet> set,
                                               const EngineOptions& options) {
  if (set == nullptr) return bad("set", "there is no compiled set");
  if (options.speed_steps != 14 && options.speed_steps != 28 && options.speed_steps != 128) {
    return bad("speed_steps", "the speed steps are not 14, 28 or 128");
  }
  if (options.voice_limit < 0 || options.voice_limit > most_voices) {
    return bad("voice_limit", "the voices are outside 0 to 256");
  }
  try {
    return std::unique_ptr<Engine>(new Engine(std::make_unique<Rig>(std::move(set), options)));
  } catch (const std::bad_alloc&) {
    return Error{ErrorCode::too_large, {}, {}, "no memory for the engine", {}};
  }
}

Engine::Engine(std::unique_ptr<Rig> rig) : rig_(std::move(rig)) {}
Engine::~Engine() = default;

bool Engine::push(const Command& command) noexcept {
  if (rig_->core.commands.push(command)) return true;
  rig_->core.commands_lost.fetch_add(1, std::memory_order_relaxed);
  return false;
}

bool Engine::pop(EngineEvent& event) noexcept {
  return rig_->core.events.pop(event);
}

void Engine::render(std::span<float> mix, const StemSpans& stems) noexcept FOURBEAT_NONBLOCKING {
  const FlushDenormals flush;
  if (mix.empty()) {
    rig_->core.run(0, {});
    return;
  }
  auto& buffers = rig_->stems;
  for (std::size_t done = 0; done < mix.size(); done += chunk_frames) {
    const std::size_t frames = std::min(chunk_frames, mix.size() - done);
    StemBuffers to{};
    for (std::size_t stem = 0; stem < stem_count; ++stem) {
      std::fill_n(buffers[stem].begin(), frames, 0.0F);
      to[stem] = buffers[stem].data();
    }
    rig_->core.run(static_cast<std::int64_t>(frames), to);
    for (std::size_t i = 0; i < frames; ++i)
      mix[done + i] = buffers[0][i] + buffers[1][i] + buffers[2][i] + buffers[3][i];
    for (std::size_t stem = 0; stem < stem_count; ++stem) {
      if (stems[stem].empty()) continue;
      std::copy_n(buffers[stem].begin(), frames,
                  stems[stem].begin() + static_cast<std::ptrdiff_t>(done));
    }
  }
}

void Engine::advance(std::int64_t frames) noexcept FOURBEAT_NONBLOCKING {
  const FlushDenormals flush;
  rig_->core.run(frames, {});
}

std::int64_t Engine::frame() const noexcept {
  return rig_->core.now;
}
int Engine::voices_peak() const noexcept {
  return rig_->core.voices_peak();
}
std::uint64_t Engine::commands_lost() const noexcept {
  return rig_->core.commands_lost.load(std::memory_order_relaxed);
}
std::uint64_t Engine::events_lost() const noexcept {
  return rig_->core.events.lost();
}

}  // namespace fourbeat::drive
