/* Where things are on an ATmega328P board at 16 MHz. Change a pin here and nowhere else. */
#pragma once
#include <avr/io.h>

#define LAMP_PORT PORTB
#define LAMP_DDR DDRB
#define LAMP_PIN PINB
#define LAMP_BIT PB1 /* D9: active high; fit a resistor to ground so that reset is dark */
#define SAFE_PORT PORTB
#define SAFE_DDR DDRB
#define SAFE_BIT PB0 /* D8 */
#define BUZZ_PORT PORTD
#define BUZZ_DDR DDRD
#define BUZZ_BIT PD6 /* D6: an active buzzer */
#define FOOT_PIN PIND
#define FOOT_PORT PORTD
#define FOOT_BIT PD2 /* D2, INT0: dry contact to ground, pull-up inside */
#define SENSOR_CHANNEL 0 /* A0: light sensor in the lamp house, 0 to 5 V */
