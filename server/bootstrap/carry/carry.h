/* A file over a line by XMODEM with CRC, for machines of any size. C89 and nothing else; names
 * differ in their first six letters, for old linkers.
 *
 * Source of the protocol: X/YMODEM Protocol Reference, C. Forsberg, 10-14-88: sections 4.1, 7, 8.
 *
 * The protocol has no lengths: the last block is filled up with SUB (1A). SUB bytes at the end of
 * the last block that comes are taken for that and left out. */
#ifndef CARRY_H
#define CARRY_H

#define BLOCK_SIZE 128

#define SOH 0x01 /* begins a block */
#define EOT 0x04 /* ends the file */
#define ACK 0x06 /* well */
#define NAK 0x15 /* once more */
#define CAN 0x18 /* twice: it is off */
#define SUB 0x1A

#define SECOND 10 /* in tenths, as line_get() has them */

/* What came of it. */
#define CARRY_DONE 0
#define CARRY_SILENT 1     /* the other end does not answer */
#define CARRY_BAD_LINE 2   /* the same block failed ten times */
#define CARRY_BROKEN_OFF 3 /* by the other end */
#define CARRY_STOPPED 4    /* by somebody at this machine */
#define CARRY_LOST 5       /* the two ends do not agree which block is next */
#define CARRY_NO_FILE 6    /* the file cannot be read or written any more */

int receive_file(void);
int send_file(void);

/* The check of a block: 1021, from 0, highest bit first, in 16 bits. */
unsigned crc_of(const unsigned char* data, unsigned char size);
/* Tells the other end that it is off. */
void cancel_it(void);

/* ---- what a machine gives: the line ---- */

#define LINE_SILENT (-1) /* nothing came in time */
#define LINE_STOP (-2)   /* somebody at this machine wants to stop */

/* The next byte, 0 to 255, waiting for it so many tenths of a second; with 0, only what is there.
 */
int line_get(unsigned char tenths);
void line_put(unsigned char byte);
void line_open(void);
void line_close(void);

/* ---- and the file ---- */

/* The next bytes of the file, as many as fit into a block: fewer only at its end, then 0.
 * Negative when it cannot be read. */
int file_read(unsigned char* to);
/* Adds bytes to the file. Not 0 when they do not fit. */
int file_write(const unsigned char* from, unsigned char count);

#endif
