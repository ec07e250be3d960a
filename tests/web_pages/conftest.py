collect_ignore = ["simulated_main.py"]  # run by the simulation, no test
