// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Workspace.h"
#include "sound/LiveDrive.h"

#include "fourbeat/model/run_card.h"

#include <QTimer>
#include <functional>
#include <memory>
#include <vector>

namespace fourbeat::ui {

/// The card of what was obeyed from a frame on, up to another: what was set before comes at its
/// start. frames at sample_rate_hz; commands in their order.
[[nodiscard]] model::RunCard cardOf(const std::vector<drive::Command>& obeyed, std::int64_t from,
                                    std::int64_t to, int sample_rate_hz);

/// The set driven by hand: fitted and compiled in a job, then played through the transport for as
/// long as that plays it. In the window's thread.
class HandDrive : public QObject {
  Q_OBJECT
 public:
  explicit HandDrive(Workspace& workspace, QObject* parent = nullptr);
  ~HandDrive() override;

  void begin();
  void end();
  [[nodiscard]] bool isPreparing() const { return preparing_; }
  [[nodiscard]] bool isDriving() const { return live_ != nullptr; }
  /// What is driven, or null.
  [[nodiscard]] const std::shared_ptr<LiveDrive>& live() const { return live_; }
  void give(const drive::Command& command);

  /// Keeps what is done from now on, or from the start of the drive that comes; off: recorded().
  void setRecording(bool recording);
  [[nodiscard]] bool isRecording() const { return recording_; }

  /// Plays; false when it does not. Replaced by tests that render themselves.
  std::function<bool(const PlayRequest&)> play;

 Q_SIGNALS:
  /// Preparing, driving or recording has begun or ended.
  void changed();
  /// The engine stands at rest and is heard. project and voices as it was compiled.
  void begun(const model::Project& project, int voices);
  /// What the driver did, in seconds since the start, what came of it, and how far the drive is.
  void moved(const std::vector<model::Move>& moves);
  void happened(const std::vector<drive::Event>& events);
  void clock(double seconds);
  void ended();
  void recorded(const model::RunCard& card);

 private:
  struct Ready {
    std::shared_ptr<LiveDrive> live;
    int voices = 0;
  };
  void start(const model::Project& project, const Ready& ready);
  void follow();
  void takeObeyed();
  void heedTransport();
  [[nodiscard]] bool isPlaying() const;

  Workspace& workspace_;
  std::shared_ptr<LiveDrive> live_;
  std::vector<drive::Command> obeyed_;  ///< since the start of the drive
  QTimer tick_;
  bool preparing_ = false;
  bool own_play_ = false;  ///< the transport plays it
  bool recording_ = false;
  std::int64_t recorded_from_ = 0;
};

}  // namespace fourbeat::ui
