"""hold.py PIN: another program that has the lamp's line, high, and keeps it."""

import signal
import sys

import gpiod
from agent import header_chip

high = gpiod.LineSettings(direction=gpiod.line.Direction.OUTPUT, output_value=gpiod.line.Value.ACTIVE)
held = gpiod.request_lines(header_chip(), consumer="another program", config={int(sys.argv[1]): high})
while True:
    signal.pause()
