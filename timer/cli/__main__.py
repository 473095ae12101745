from timer.cli import main

main()
