"""hold.py CHIP PIN: another program that has the lamp's line, high, and keeps it."""

import signal
import sys

import gpiod

chip, pin = sys.argv[1], int(sys.argv[2])
high = gpiod.LineSettings(direction=gpiod.line.Direction.OUTPUT, output_value=gpiod.line.Value.ACTIVE)
held = gpiod.request_lines(chip, consumer="another program", config={pin: high})
while True:
    signal.pause()
