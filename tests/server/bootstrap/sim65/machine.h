/* The line of a simulated 6502: what `simulated` at the other end of standard input and output
 * answers. Opened again in binary, so that no C library turns line ends. */
#ifndef MACHINE_H
#define MACHINE_H

int sim_came(void);
int sim_take(void);
void sim_give(unsigned char byte);

#define LINE_CAME() sim_came()
#define LINE_TAKE() sim_take()
#define LINE_FREE() 1
#define LINE_GIVE(b) sim_give(b)
#define LINE_SET_UP()
#define LOOKS 10

#endif
