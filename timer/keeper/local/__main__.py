from timer.keeper.local.process import main

main()
