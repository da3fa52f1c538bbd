/* The line of a simulated Z80: the simulator's own interface at one address of memory, and behind
 * it what `simulated` answers. */
#ifndef MACHINE_H
#define MACHINE_H

#define INTERFACE (*(volatile unsigned char*)0xE000)

unsigned char sim_answer(unsigned char question);
void sim_put(unsigned char byte);
void sim_give(unsigned char byte);

#define LINE_CAME() sim_answer('?')
#define LINE_TAKE() sim_answer('<')
#define LINE_FREE() 1
#define LINE_GIVE(b) sim_give(b)
#define LINE_SET_UP()
#define LOOKS 10

#endif
