// Print jobs that are coming in by a stream without an end mark: whoever sends one has to end it
// sometime, and may ask for it. Lives on the loop's thread.
#pragma once

#include <cstdint>
#include <functional>
#include <list>
#include <string>
#include <utility>

#include "print/job.h"

namespace stationer::server {

struct OpenJob {
  print::Job job;             // as far as it has come
  std::string address;        // of the machine that sends it
  std::function<void()> end;  // soon, with what has come so far
};

class OpenJobs {
 public:
  // A place in the list, for as long as the job is coming in.
  class Place {
   public:
    Place(OpenJobs& list, OpenJob job)
        : list_(list.all_), at_(list_.insert(list_.end(), std::move(job))) {}
    Place(const Place&) = delete;
    Place& operator=(const Place&) = delete;
    ~Place() { list_.erase(at_); }
    print::Job& job() { return at_->job; }

   private:
    std::list<OpenJob>& list_;
    std::list<OpenJob>::iterator at_;
  };

  const std::list<OpenJob>& all() const { return all_; }

 private:
  std::list<OpenJob> all_;
};

}  // namespace stationer::server
