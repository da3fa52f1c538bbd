#ifndef MEMORY_H
#define MEMORY_H

/* Receiving begins with memory_end where the file is to begin, and goes no further than
 * memory_limit. Sending goes from memory_next up to memory_end. */
extern unsigned char* memory_next;
extern unsigned char* memory_end;
extern unsigned char* memory_limit;

#endif
