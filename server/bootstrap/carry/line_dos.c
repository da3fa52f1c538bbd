/* The line of a DOS PC: its first serial port, or another by -DPORT=0x2F8 and so on. Speed and form
 * are as MODE or a terminal program have left them. Any key stops it.
 *
 * The pieces of assembly are for bcc, which leaves what AX holds as a function's result; other
 * compilers have functions for ports, keys and interrupts. */
#include "carry.h"

#ifndef PORT
#define PORT 0x3F8
#endif

/* The registers of the 8250 and its successors, as the makers' data sheets have them. */
#define DATA PORT
#define INTERRUPTS (PORT + 1)
#define FIFO (PORT + 2) /* nothing that can be written, on the older ones */
#define MODEM (PORT + 4)
#define STATUS (PORT + 5)
#define HAS_COME 0x01
#define IS_FREE 0x20
#define IS_GONE 0x40 /* the last byte, too */

static int port_in(port) int port;
{
#asm
  mov bx,sp
  mov dx,[bx+2]
  in al,dx
  xor ah,ah
#endasm
}

static void port_out(port, byte) int port; int byte;
{
#asm
  mov bx,sp
  mov dx,[bx+2]
  mov ax,[bx+4]
  out dx,al
#endasm
}

/* 18.2 a second. */
static unsigned ticks()
{
#asm
  mov ah,#0
  int 0x1A
  mov ax,dx
#endasm
}

static int key_pressed()
{
#asm
  mov ah,#1
  int 0x16
  mov ax,#0
  jz none
  int 0x16
  mov ax,#1
none:
#endasm
}

int line_get(unsigned char tenths) {
  unsigned patience = tenths * 2;
  unsigned since;
  if (port_in(STATUS) & HAS_COME) return port_in(DATA);
  if (tenths == 0) return LINE_SILENT;
  since = ticks();
  while (ticks() - since <= patience) {
    if (port_in(STATUS) & HAS_COME) return port_in(DATA);
    if (key_pressed()) return LINE_STOP;
  }
  return LINE_SILENT;
}

void line_put(unsigned char byte) {
  while (!(port_in(STATUS) & IS_FREE)) {
  }
  port_out(DATA, byte);
}

/* Nobody is to take bytes away before we look; and the other end hears that we are there. */
void line_open(void) {
  port_out(INTERRUPTS, 0);
  port_out(MODEM, 3);
  port_out(FIFO, 7);
}

void line_close(void) {
  while (!(port_in(STATUS) & IS_GONE)) {
  }
  port_out(FIFO, 0);
}
