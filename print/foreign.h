// Jobs for printers of another kind than any of ours, told by how they begin. As text they would be
// pages of rubbish, so the spool refuses them, and guess.h names them.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "print/language.h"

namespace stationer::print {

// So many bytes of a job are enough.
inline constexpr std::size_t foreign_beginning = 16;

// What such a job is: "a PDF document". Empty for any other job.
std::string_view foreign_job(std::string_view beginning);

// Why a queue of this language refuses it, and what to do, in two sentences.
std::string why_refused(std::string_view foreign_job, Language language);

}  // namespace stationer::print
