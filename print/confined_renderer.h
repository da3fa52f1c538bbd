// Jobs turned into PDFs by processes of their own that can do nothing else: whatever a job does to
// its process, dying of it, never ending, growing, costs that job alone.
//
//   the service ──── the helper, which loads the fonts and copies itself    (print/print_helper.h)
//        └────────── one copy for each job, locked in                       (print/cage.h)
//
// Files stay with the service: it sends a copy the job when it asks for more, and gets the PDF
// back.
#pragma once

#include <chrono>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "print/cage.h"
#include "print/frame_socket.h"
#include "print/print_helper.h"
#include "print/processes.h"
#include "print/renderer.h"

namespace stationer::print {

struct Confinement {
  CageLimits limits;
  std::chrono::milliseconds silence{30'000};  // of a copy that prints; then it is ended
  // What becomes the helper: a program that calls run_print_helper() when it is given these words.
  std::string program = own_program();
  std::vector<std::string> words = {helper_word};
};

class ConfinedRenderer : public Renderer {
 public:
  // `settings_text` is that of volume.toml, with the queues. Starts the helper and tries whether a
  // copy of it gets ready; Code::io with advice when not. A helper that is gone later is started
  // anew.
  static fs::Result<std::unique_ptr<ConfinedRenderer>> open(std::string settings_text,
                                                            Confinement confinement = {});
  ~ConfinedRenderer() override;

  fs::Result<JobReport> render(const Order& order, const ByteSource& source, const PartSink& sink,
                               const PageTold& on_page) override;

  // The helper's number; 0 when there is none.
  int helper() const;

 private:
  struct Peer {
    int process = 0;  // 0: ended
    FrameSocket socket;
  };

  ConfinedRenderer(std::string settings_text, Confinement confinement);
  fs::Status start_helper();
  void drop_helper();
  fs::Result<Peer> take_copy();
  fs::Result<Peer> ready_copy();
  fs::Status ask_to_end(Peer& copy);
  fs::Result<Ending> end(Peer& copy);
  fs::Result<Frame> hear_helper();
  // `begun` once the copy has asked for the job.
  fs::Result<JobReport> print(Peer& copy, const Order& order, const ByteSource& source,
                              const PartSink& sink, const PageTold& on_page, bool& begun);
  fs::Error why(const fs::Error& seen, Peer& copy);

  const std::string settings_text_;
  const Confinement confinement_;
  mutable std::mutex mutex_;
  std::optional<Peer> helper_;
  int unheard_ = 0;  // answers of the helper's about endings that nobody waits for
};

}  // namespace stationer::print
