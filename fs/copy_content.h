// Copying what is in one file to another.
#pragma once

#include "fs/content.h"
#include "fs/files.h"
#include "fs/ticket.h"

namespace stationer::fs {

// Writes all of a content to an upload that has nothing yet, and finishes it. Reads and writes, so
// it may wait for the disk; what comes back is the commit's ticket, or why there is none.
Ticket copy_content(const Content& content, Upload& upload);

}  // namespace stationer::fs
