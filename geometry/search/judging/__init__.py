"""Which options stand, alone and beside others: interval tests, exact measures, worst cases."""
